# shellcheck shell=bash
# Adds up what scripts of tests say in their last line: "N passed, N failed",
# and ", N skipped" where the machine did not allow something to be tried.

passed=0
failed=0
skipped=0

# add_up TEXT STATUS: adds the last line of what was said. Where there is none, where
# it counts nothing, or where the program failed without counting that, one has failed.
add_up() {
	local good=0 bad=0 missed=0
	if [[ $1 =~ (^|$'\n'|:\ )([0-9]+)\ passed,\ ([0-9]+)\ failed(,\ ([0-9]+)\ skipped)?$ ]]; then
		good=${BASH_REMATCH[2]}
		bad=${BASH_REMATCH[3]}
		missed=${BASH_REMATCH[5]:-0}
	fi
	[ "$bad" -gt 0 ] || { [ "$2" -eq 0 ] && [ $((good + missed)) -gt 0 ]; } || bad=1
	passed=$((passed + good))
	failed=$((failed + bad))
	skipped=$((skipped + missed))
}

# run_test NAME COMMAND...: runs one test, shows what it says, and adds it up.
run_test() {
	local name=$1 said status=0
	shift
	said=$("$@" 2>&1) || status=$?
	printf '%s: %s\n' "$name" "$said"
	add_up "$said" "$status"
}

# Ends a script: the sum as its last line.
end_tests() {
	if [ "$skipped" -gt 0 ]; then
		echo "$passed passed, $failed failed, $skipped skipped"
	else
		echo "$passed passed, $failed failed"
	fi
	[ "$failed" -eq 0 ]
}

# run_scripts FILE...: runs scripts with node, one after another, and ends.
run_scripts() {
	local script
	for script in "$@"; do
		run_test "$script" node "$script"
	done
	end_tests
}
