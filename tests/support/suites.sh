# shellcheck shell=bash
# What tests/run.sh runs its suites with. Nothing may pass by not being run: a suite
# that counts nothing has failed, and so has ctest without tests, a run.sh that is
# not executable, and a test that was skipped for a reason that will not do.
# tests/support/run.sh tries all of this.
#
# Wants from who sources it: logs, the folder for what was said; jobs; may_lack,
# reasons for which a test may be skipped.
# shellcheck disable=SC2154 # those three

# shellcheck source=tests/support/scripts.sh
. "$(dirname "${BASH_SOURCE[0]}")/scripts.sh"

summary=()

title() {
	printf '\n== %s\n' "$1"
}

# The tests of a log that were skipped for another reason than those allowed.
wrongly_skipped() {
	sed -n 's/^.*\bSKIPPED //p' "$1" | while read -r one; do
		printf '%s\n' "${may_lack[@]}" | grep -qxF "${one##*: }" || printf '%s\n' "$one"
	done
}

# suite NAME COMMAND...: runs one suite, and adds up its last line.
suite() {
	local name=$1 log status=0 before=("$passed" "$failed" "$skipped") begin=$SECONDS wrong
	shift
	title "$name"
	log=$logs/${name//[^a-z0-9]/-}.log
	"$@" </dev/null 2>&1 | tee "$log" || status=$?
	add_up "$(grep -aE '^([a-z]+: )?[0-9]+ passed, [0-9]+ failed' "$log" | tail -n 1)" "$status"
	wrong=$(wrongly_skipped "$log")
	if [ -n "$wrong" ]; then
		printf 'skipped, but should have been tried: %s\n' "$wrong"
		failed=$((failed + 1))
	fi
	summary+=("$(printf '%-24s %4d good, %3d bad, %2d skipped, %4d s' "$name" $((passed - before[0])) \
		$((failed - before[1])) $((skipped - before[2])) $((SECONDS - begin)))")
}

# task NAME COMMAND...: a suite that is one test, passed if the command succeeds.
task() {
	suite "$1" as_one "${@:2}"
}

as_one() {
	"$@" || return
	echo '1 passed, 0 failed'
}

# quiet COMMAND...: prints what the command said only if it fails.
quiet() {
	local said
	said=$("$@" 2>&1) || {
		local status=$?
		printf '%s\n' "$said"
		return "$status"
	}
}

# ctests FOLDER: runs the tests of a build folder, and tells them in one line.
ctests() {
	local said status=0 missed
	said=$(ctest --test-dir "$1" -j"$jobs" --no-tests=error --output-on-failure --timeout 300 2>&1) || status=$?
	# ctest counts those skipped as passed, and those disabled not at all.
	said=$(sed -E 's/^.* Test +#[0-9]+: ([^ ]+) .*\*\*\*(Skipped|Not Run \(Disabled\)).*/SKIPPED \1: \2/' <<<"$said")
	printf '%s\n' "$said"
	missed=$(grep -c '^SKIPPED .*: Skipped$' <<<"$said")
	sed -nE 's/^[0-9]+% tests passed, ([0-9]+) tests? failed out of ([0-9]+)$/\1 \2/p' <<<"$said" |
		while read -r bad all; do
			echo "$((all - bad - missed)) passed, $bad failed, $(grep -c '^SKIPPED ' <<<"$said") skipped"
		done
	return "$status"
}

# extra_suites FOLDER BUILD: every FOLDER/*/run.sh with that build. bench measures,
# and is run by hand.
extra_suites() {
	local script name
	for script in "$1"/*/run.sh; do
		name=$(basename "$(dirname "$script")")
		[ "$name" = bench ] || BUILD=$2 suite "$name" "$script"
	done
}

# named_suites FOLDER BUILD NAME...: those alone.
named_suites() {
	local folder=$1 built=$2 name
	shift 2
	for name; do
		BUILD=$built suite "$name, $(basename "$built")" "$folder/$name/run.sh"
	done
}

# The table of the suites; the sum as the last line.
end_suites() {
	title 'totals'
	printf '%s\n' "${summary[@]}"
	echo "$passed passed, $failed failed, $skipped skipped"
	[ "$failed" -eq 0 ]
}
