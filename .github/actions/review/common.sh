# shellcheck shell=bash
# What the steps have in common. Read by them, never run by itself.
# Bash 3.2 is enough: runners of macOS have no newer one.

# Python looks at none of these, so that what stands in the checkout is on the way of no program that a step starts.
unset PYTHONPATH PYTHONHOME PYTHONSTARTUP PYTHONUSERBASE
export PYTHONNOUSERSITE=1

# Ends the step with 2, saying why in the log and on the page of the job.
stop() {
    say_safely "ohmwright: $1"
    on_the_page "$1"
    exit 2
}

# Puts a text on the page of the job, letter by letter, at most a hundred lines.
on_the_page() {
    {
        printf '<pre>\n'
        printf '%s\n' "$1" | sed -n -e 's/&/\&amp;/g' -e 's/</\&lt;/g' -e 's/>/\&gt;/g' -e '1,100p'
        printf '</pre>\n\n'
    } >>"$GITHUB_STEP_SUMMARY"
}

# Prints a text in which no line is taken for a command of the runner.
say_safely() {
    local token
    token="$(od -An -N16 -tx1 /dev/urandom | tr -d ' \n')"
    printf '::stop-commands::%s\n%s\n::%s::\n' "$token" "$1" "$token"
}

# Sets an output of the step; the value is one line.
put_output() {
    case "$2" in
        *$'\n'* | *$'\r'*) stop "the output $1 would have several lines" ;;
    esac
    printf '%s=%s\n' "$1" "$2" >>"$GITHUB_OUTPUT"
}

# Stops where a value is none of the ones that follow.
one_of() {
    local name="$1" value="$2" known
    shift 2
    for known in "$@"; do
        if [ "$value" = "$known" ]; then
            return
        fi
    done
    stop "the input $name cannot be '$value': it is one of $(printf "'%s' " "$@")"
}

# Puts the options that both commands share into the list `options`.
shared_options() {
    one_of bar "$INPUT_BAR" "" error warning note
    one_of require-checked "$INPUT_REQUIRE_CHECKED" "" true false
    one_of states "$INPUT_STATES" "" reached declared
    options=()
    if [ -n "$INPUT_BAR" ]; then options+=(--bar "$INPUT_BAR"); fi
    if [ -n "$INPUT_STATES" ]; then options+=(--states "$INPUT_STATES"); fi
    if [ -n "$INPUT_BUDGET" ]; then options+=(--budget "$INPUT_BUDGET"); fi
    case "$INPUT_REQUIRE_CHECKED" in
        true) options+=(--require-checked) ;;
        false) options+=(--no-require-checked) ;;
    esac
}
