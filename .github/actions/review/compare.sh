#!/usr/bin/env bash
# Says what the change does: first what would alter how builds are judged, then findings, margins and parts. Both sides are judged on the terms of the target.
set -euo pipefail
# shellcheck source=.github/actions/review/common.sh
. "$ACTION_FOLDER/common.sh"

one_of bar-judgement "$INPUT_BAR_JUDGEMENT" true false
shared_options
if [ "$INPUT_BAR_JUDGEMENT" = true ]; then options+=(--bar-judgement); fi
while IFS= read -r -d '' option; do options+=("$option"); done <"$TERMS/options"

summary="$(dirname "$TERMS")/reports/comparison.md"
log="$(dirname "$TERMS")/log"
cd "$GITHUB_WORKSPACE"
cd "$(git rev-parse --show-toplevel)"
code=0
"$PROGRAMS/ohmwright" compare "${options[@]}" --output markdown --to "$summary" --output text "$TARGET..$HEAD" >"$log" 2>&1 || code=$?
case "$code" in
    0 | 1 | 2) ;;
    *) code=2 ;;
esac
say_safely "$(cat "$log")"
if [ -f "$summary" ]; then
    cat "$summary" >>"$GITHUB_STEP_SUMMARY"
else
    code=2
    on_the_page "The comparison wrote no report.
$(cat "$log")"
fi
put_output code "$code"
put_output summary "$summary"
