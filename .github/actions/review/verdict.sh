#!/usr/bin/env bash
# Ends the action as the inspection and the comparison ended; 2 wins over 1. A step that told nothing is no pass.
set -euo pipefail
# shellcheck source=.github/actions/review/common.sh
. "$ACTION_FOLDER/common.sh"

code="${INSPECTION:-2}"
if [ -n "$TARGET" ]; then
    compared="${COMPARISON:-2}"
    if [ "$compared" -gt "$code" ]; then code="$compared"; fi
fi
case "$code" in
    0) verdict=passes words="The builds pass, and so does the change." ;;
    1) verdict=stopped words="The change is stopped: see the summary of this job." ;;
    *) verdict=failed words="Something could not be read or used: see the summary and the log of this job." code=2 ;;
esac
put_output verdict "$verdict"
echo "$words"
exit "$code"
