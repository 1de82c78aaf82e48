#!/usr/bin/env bash
# Reviews what is checked out here against the branch that it is to go into:  review.sh TARGET [REPORTS]
# Run it from a place that the change cannot write to; it runs nothing of the checkout. It ends with 0, 1 (stopped) or 2 (something could not be read or used).
set -euo pipefail

target="$(git rev-parse --verify --end-of-options "${1:?usage: review.sh TARGET [REPORTS]}^{commit}")"
cd "$(git rev-parse --show-toplevel)"
if ! git merge-base --is-ancestor "$target" HEAD; then
    echo "review.sh: what is checked out does not hold $1 as it is now: merge it first" >&2
    exit 2
fi
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT
reports="${2:-$work}"
mkdir -p "$reports" "$work/target"

# what the target branch has: its settings, and the baseline that they name beside them
git archive "$target" | tar -x -C "$work/target"
settings=none
if [ -e "$work/target/ohmwright.toml" ]; then settings="$work/target/ohmwright.toml"; fi
if [ "$(cd "$work/target" && find . -name ohmwright.toml | wc -l)" -gt 1 ]; then
    echo "review.sh: $1 has several files of settings; this script takes one ohmwright.toml, at the top" >&2
    exit 2
fi

code=0
git diff --name-only --no-renames -z "$target" HEAD |
    ohmwright inspect --settings "$settings" --states reached --require-checked \
        --output text --output markdown --to "$reports/inspection.md" --output json --to "$reports/inspection.json" --changed - || code=$?
compared=0
ohmwright compare --states reached --require-checked --bar-judgement \
    --output text --output markdown --to "$reports/comparison.md" "$target..HEAD" || compared=$?
if [ "$compared" -gt "$code" ]; then code=$compared; fi
exit "$code"
