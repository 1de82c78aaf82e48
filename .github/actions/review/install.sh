#!/usr/bin/env bash
# Makes an environment of its own beside the checkout, with the program as it stands in this action's own repository.
# Nothing of the checkout is on the way of Python: it starts elsewhere, and with -I it looks neither there nor at variables.
set -euo pipefail
# shellcheck source=.github/actions/review/common.sh
. "$ACTION_FOLDER/common.sh"

source="$(cd "$ACTION_FOLDER/../../.." && pwd -P)"
case "$source/" in
    "$(cd "$GITHUB_WORKSPACE" && pwd -P)"/*)
        stop "the action would come from the checkout, and with it from the change: name its repository and a commit of it"
        ;;
esac
cd "$RUNNER_TEMP"
case "$INPUT_PYTHON" in
    -*) stop "the input python cannot be '$INPUT_PYTHON'" ;;
esac
if ! "$INPUT_PYTHON" -I -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
    stop "'$INPUT_PYTHON' is no Python of 3.11 or newer: name one with the input python, or set one up before this step"
fi
folder="$RUNNER_TEMP/ohmwright"
programs="$folder/environment/bin"
if [ "${RUNNER_OS:-}" = Windows ]; then programs="$folder/environment/Scripts"; fi
if [ "$(cat "$folder/made-from" 2>/dev/null)" != "$source" ]; then
    mkdir -p "$folder"
    "$INPUT_PYTHON" -I -m venv --clear "$folder/environment"
    "$programs/python" -I -m pip install --quiet --disable-pip-version-check --no-input "$source"
    printf '%s\n' "$source" >"$folder/made-from"
fi
put_output programs "$programs"
"$programs/ohmwright" --version
