# shellcheck shell=bash
# run_scripts FILE...: runs scripts of tests with node, one after another, and
# ends with the sum of their last lines: "N passed, N failed". A script that
# breaks off before its last line counts as one failure.
run_scripts() {
	local passed=0 failed=0 script said
	for script in "$@"; do
		said=$(node "$script" 2>&1)
		printf '%s: %s\n' "$script" "$said"
		if [[ $said =~ ([0-9]+)\ passed,\ ([0-9]+)\ failed$ ]]; then
			passed=$((passed + BASH_REMATCH[1]))
			failed=$((failed + BASH_REMATCH[2]))
		else
			failed=$((failed + 1))
		fi
	done
	echo "$passed passed, $failed failed"
	[ "$failed" -eq 0 ]
}
