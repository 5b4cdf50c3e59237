#!/bin/bash
# Tests what the tests are run with: that a suite which broke off, ran nothing or
# skipped what it should have tried is never taken for one that passed.
# Ends with "N passed, N failed".
#
#     tests/support/run.sh
# Programs that stand in are texts that they expand themselves; sums counts in a shell of its own.
# shellcheck disable=SC2016,SC2031
set -uo pipefail
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ./scripts.sh

room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT

# sums COMMAND...: "passed failed skipped" that tests/run.sh would count.
sums() (
	# shellcheck disable=SC2034 # read by suites.sh
	{
		logs=$room
		jobs=1
		may_lack=('no such right' 'a word')
	}
	. ./suites.sh
	"$@" >"$room/said" 2>&1
	echo "$passed $failed $skipped"
)

# expect SUMS WHAT COMMAND...: is that what is counted?
expect() {
	local wanted=$1 what=$2 got
	shift 2
	got=$(sums "$@")
	if [ "$got" = "$wanted" ]; then
		passed=$((passed + 1))
	else
		failed=$((failed + 1))
		echo "FAILED $what: $got instead of $wanted"
		sed 's/^/    /' "$room/said"
	fi
}

# says TEXT [STATUS]: a suite that says that, and leaves so.
says() {
	expect "$1" "a suite that says '$2' and leaves with ${3:-0}" suite x bash -c 'printf "$1"; exit "$2"' - "$2" "${3:-0}"
}

says '3 0 0' '3 passed, 0 failed\n'
says '3 0 0' 'core: 3 passed, 0 failed\n'
says '3 0 0' '1 passed, 1 failed\nagain\n3 passed, 0 failed\n'
says '3 0 0' '3 passed, 0 failed\nmore words\n'
says '3 2 0' '3 passed, 2 failed\n' 1
says '3 2 0' '3 passed, 2 failed\n'
says '3 1 0' '3 passed, 0 failed\n' 1
says '0 1 0' ''
says '0 1 0' '' 1
says '0 1 0' 'all is well\n'
says '0 1 0' '0 passed, 0 failed\n'
says '0 1 0' 'many passed, 0 failed\n'
says '0 1 0' '3 passed\n'
says '3 0 1' 'SKIPPED it: no such right\n3 passed, 0 failed, 1 skipped\n'
says '0 0 1' 'a.mjs: SKIPPED it: no such right\n0 passed, 0 failed, 1 skipped\n'
says '3 1 1' 'SKIPPED it: nginx is not here\n3 passed, 0 failed, 1 skipped\n'
says '3 1 1' 'SKIPPED it: no such right, or so\n3 passed, 0 failed, 1 skipped\n'
says '3 1 2' 'SKIPPED it: no such right\nSKIPPED it: a wor\n3 passed, 0 failed, 2 skipped\n'
says '3 1 0' 'SKIPPED it\n3 passed, 0 failed\n'

two_suites() {
	suite one echo '2 passed, 1 failed'
	suite two echo '4 passed, 0 failed'
}
expect '6 1 0' 'two suites' two_suites
expect '1 0 0' 'a task' task x echo 'built'
expect '0 1 0' 'a task that fails' task x false
expect '0 1 0' 'a program that is not there' suite x "$room/nothing"

# tests FOLDER TEXT: a build folder with such tests of ctest.
folder_with() {
	mkdir -p "$room/$1"
	printf '%s\n' "${@:2}" >"$room/$1/CTestTestfile.cmake"
}
folder_with none ''
folder_with good 'add_test(a "true")' 'add_test(b "true")'
folder_with bad 'add_test(a "true")' 'add_test(b "false")'
folder_with unbuilt 'add_test(a "true")' 'add_test(b "/nothing/here")'
folder_with skips 'add_test(a "true")' 'add_test(b "false")' 'set_tests_properties(b PROPERTIES SKIP_RETURN_CODE 1)'
folder_with disabled 'add_test(a "true")' 'add_test(b "true")' 'set_tests_properties(b PROPERTIES DISABLED 1)'
expect '0 1 0' 'ctest without tests' suite x ctests "$room/none"
expect '0 1 0' 'ctest without a folder' suite x ctests "$room/nowhere"
expect '2 0 0' 'ctest' suite x ctests "$room/good"
expect '1 1 0' 'ctest with a failure' suite x ctests "$room/bad"
expect '1 1 0' 'ctest with a test that was not built' suite x ctests "$room/unbuilt"
expect '1 1 1' 'ctest with a test that skips' suite x ctests "$room/skips"
expect '1 1 1' 'ctest with a test that is off' suite x ctests "$room/disabled"

# script NAME MODE: a suite of its own folder.
script() {
	mkdir -p "$room/$1"
	printf '#!/bin/bash\necho "$BUILD"; [ "$BUILD" = here/made ] && echo "1 passed, 0 failed"\n' >"$room/$1/run.sh"
	chmod "$2" "$room/$1/run.sh"
}
script all/one 755
script all/two 755
script all/bench 755
expect '2 0 0' 'two folders of tests, and one that measures' extra_suites "$room/all" here/made
script all/three 644
expect '2 1 0' 'a run.sh that is not executable' extra_suites "$room/all" here/made
expect '1 0 0' 'a suite by its name' named_suites "$room/all" here/made one
expect '1 1 0' 'a name without a suite' named_suites "$room/all" here/made one four
expect '0 1 0' 'a folder without suites' extra_suites "$room/good" here/made

# ends WANTED STATUS: does end_suites leave with that?
ends() {
	suite x echo "$2"
	end_suites
	[ $? -eq "$1" ] || failed=100
}
expect '1 0 0' 'the end of what passed' ends 0 '1 passed, 0 failed'
expect '1 1 0' 'the end of what failed' ends 1 '1 passed, 1 failed'

# Scripts: a program in the place of node.
scripts() {
	PATH=$room:$PATH
	run_scripts "$@"
}
printf '#!/bin/bash\nprintf "$1"; [[ $1 != *leaves* ]]\n' >"$room/node"
chmod +x "$room/node"
expect '3 0 0' 'two scripts' scripts 'words\n1 passed, 0 failed\n' '2 passed, 0 failed\n'
expect '2 1 0' 'a script that breaks off' scripts 'words\n' '2 passed, 0 failed\n'
expect '2 1 0' 'a script that fails after its end' scripts 'leaves\n2 passed, 0 failed\n'
expect '0 1 0' 'a script that breaks off after a sum' scripts '2 passed, 0 failed\nTypeError\n'
expect '2 0 3' 'a script that skips' scripts '2 passed, 0 failed, 3 skipped\n'

# What a script itself counts.
counted() {
	suite x node --input-type=module -e "
		import { check, finish, skip } from '$PWD/check.mjs';
		$1
		finish();"
}
expect '1 1 0' 'a check that throws' counted "await check('a', () => {}); await check('b', () => { throw new Error('no'); });"
expect '1 0 1' 'a check, and a skip' counted "await check('a', () => {}); skip('b', 'a word');"
expect '0 1 1' 'a skip for want of a program' counted "skip('b', 'no such program');"
expect '0 1 0' 'a script without checks' counted ''

end_tests
