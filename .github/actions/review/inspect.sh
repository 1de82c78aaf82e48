#!/usr/bin/env bash
# Inspects the builds that a change touches, on the terms of the target branch; a finding ends the verdict, not this step, so that everything can be told.
set -euo pipefail
# shellcheck source=.github/actions/review/common.sh
. "$ACTION_FOLDER/common.sh"

one_of builds "$INPUT_BUILDS" changed all
one_of upload "$INPUT_UPLOAD" true false
shared_options
if [ "$EVENT_NAME" = pull_request_target ]; then
    stop "this action is made for pull_request, whose token may only read; with pull_request_target a change of a stranger meets one that may write"
fi
cd "$GITHUB_WORKSPACE"
top="$(git rev-parse --show-toplevel 2>&1)" || stop "there is no checkout that git can use here: run actions/checkout with fetch-depth: 0 before this action ($top)"
cd "$top"
head="$(git rev-parse --verify --quiet 'HEAD^{commit}')" || stop "the checkout has no commit"

# The target: what the workflow names; else the first parent of the merge that the service itself made of the change; else what the event names.
wanted="$INPUT_TARGET"
case "$wanted" in
    -*) stop "the input target cannot be '$wanted'" ;;
esac
if [ -z "$wanted" ]; then
    wanted="$EVENT_TARGET"
    if [ -n "$EVENT_HEAD" ] && [ "$head" = "${GITHUB_SHA:-}" ] && [ "$(git rev-parse --verify --quiet 'HEAD^2' || true)" = "$EVENT_HEAD" ]; then
        wanted="HEAD^1"
    fi
    case "$wanted" in
        *[!0]*) ;;
        *) wanted="" ;; # nothing but zeros: a branch that is new
    esac
fi
target=""
if [ -n "$wanted" ]; then
    target="$(git rev-parse --verify --quiet --end-of-options "$wanted^{commit}" || true)"
    if [ -z "$target" ] && { [ "$EVENT_NAME" != push ] || [ -n "$INPUT_TARGET" ]; }; then
        stop "the target $wanted is not in the checkout: give actions/checkout fetch-depth: 0"
    fi
fi
if [ -n "$target" ] && ! git merge-base --is-ancestor "$target" "$head"; then
    if [ "$EVENT_NAME" != push ] || [ -n "$INPUT_TARGET" ]; then
        stop "the checkout does not hold the target branch: leave the input ref of actions/checkout out, so that the change is looked at as merged"
    fi
    target="" # pushed with force
fi
if [ -z "$target" ]; then
    case "$EVENT_NAME" in
        pull_request | merge_group) stop "the event names no target branch: name one with the input target" ;;
    esac
    echo "There is nothing to hold this against: every build is inspected, on the settings that the checkout has."
    INPUT_BUILDS=all
elif [ "$target" = "$head" ] && [ "$INPUT_BUILDS" = changed ] && [ "$EVENT_NAME" = pull_request ]; then
    stop "the checkout is the target branch itself: leave the input ref of actions/checkout out"
fi

# A tree of its own: the files of the change, with the settings and baselines of the target. No file of it is run.
work="$(mktemp -d "$RUNNER_TEMP/ohmwright-review.XXXXXX")"
mkdir "$work/reports" "$work/terms"
"$PROGRAMS/python" -I "$ACTION_FOLDER/lay_out.py" "$work" "${target:-$head}" "$head" "$INPUT_SETTINGS" "$INPUT_BASELINE" \
    >"$work/log" 2>&1 || stop "$(cat "$work/log")"
while IFS= read -r -d '' option; do options+=("$option"); done <"$work/terms/options"

reports="$work/reports"
options+=(--output github --output sarif --to "$reports/ohmwright.sarif" --output markdown --to "$reports/summary.md" --output json --to "$reports/result.json")
cd "$work/tree"
code=0
if [ "$INPUT_BUILDS" = all ]; then
    "$PROGRAMS/ohmwright" inspect "${options[@]}" . 2>"$work/log" >"$work/annotations" || code=$?
else
    "$PROGRAMS/ohmwright" inspect "${options[@]}" --changed - <"$work/changed" 2>"$work/log" >"$work/annotations" || code=$?
fi
case "$code" in
    0 | 1 | 2) ;;
    *) code=2 ;;
esac
cat "$work/annotations"
if [ -s "$work/log" ]; then say_safely "$(cat "$work/log")"; fi
if [ -f "$reports/summary.md" ]; then
    cat "$reports/summary.md" >>"$GITHUB_STEP_SUMMARY"
else
    code=2
    on_the_page "The inspection wrote no report.
$(cat "$work/log")"
fi

# The token of a change that comes from a fork, or from the service's own updater, may only read.
upload="$INPUT_UPLOAD"
case "$EVENT_NAME" in
    pull_request)
        if [ "$EVENT_HEAD_REPOSITORY" != "${GITHUB_REPOSITORY:-}" ] || [ "${GITHUB_ACTOR:-}" = "dependabot[bot]" ]; then upload=false; fi
        ;;
esac
if [ ! -f "$reports/ohmwright.sarif" ]; then upload=false; fi

put_output code "$code"
put_output target "$target"
put_output head "$head"
put_output terms "$work/terms"
put_output sarif "$reports/ohmwright.sarif"
put_output result "$reports/result.json"
put_output summary "$reports/summary.md"
put_output upload "$upload"
