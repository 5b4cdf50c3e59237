#!/bin/bash
# Installs what the tests need, builds, runs every test, and ends with one line
# of totals: "N passed, N failed". Leaves with 1 when anything failed.
#
#     tests/run.sh
#
# In order: layout of the sources; direction of includes; gcc with warnings as
# errors and every test; the release, where asserts are off, builds too;
# nothing writable in core; branch coverage of server/core by the tests of core
# alone; clang with ASan and UBSan and every test; then each executable
# tests/*/run.sh (pages, HTTP, templates), which finds the plain gcc build in
# BUILD and ends with a line of the same form. tests/bench measures and is run
# by hand.
#
# FAIRLEAD_BUILD names the folder for the builds (build-test). Nothing here
# needs a network once the packages are there, nor a fixed port.
set -uo pipefail
cd "$(dirname "$0")/.." || exit 1
# shellcheck source=deploy/packages.sh
. deploy/packages.sh

builds=$(realpath -m "${FAIRLEAD_BUILD:-build-test}")
logs=$builds/logs
least_core_branches=95
jobs=2

test_packages=(
	clang libclang-rt-14-dev clang-format gcovr shellcheck python3-networkx python3-scipy
	curl sqlite3 chromium fonts-liberation
	libimage-exiftool-perl python3-pil python3-feedparser python3-icalendar libxml2-utils python3-aiosmtpd
)

passed=0
failed=0
summary=()

title() {
	printf '\n== %s\n' "$1"
}

# count PASSED FAILED NAME SECONDS: adds to the totals and to the summary.
count() {
	passed=$((passed + $1))
	failed=$((failed + $2))
	summary+=("$(printf '%-24s %4d good, %3d bad, %4d s' "$3" "$1" "$2" "$4")")
}

# suite NAME COMMAND...: runs one suite. Its last line of the form "N passed,
# N failed" is added up; without one it counts as a single test.
suite() {
	local name=$1 log status=0 line good=0 bad=0 begin=$SECONDS
	shift
	title "$name"
	log=$logs/${name//[^a-z0-9]/-}.log
	"$@" </dev/null 2>&1 | tee "$log" || status=$?
	line=$(grep -E '^([a-z]+: )?[0-9]+ passed, [0-9]+ failed' "$log" | tail -n 1)
	if [[ $line =~ ([0-9]+)\ passed,\ ([0-9]+)\ failed ]]; then
		good=${BASH_REMATCH[1]}
		bad=${BASH_REMATCH[2]}
	elif [ "$status" -eq 0 ]; then
		good=1
	fi
	# A suite may break off before it counts what failed.
	[ "$status" -eq 0 ] || [ "$bad" -gt 0 ] || bad=1
	count "$good" "$bad" "$name" "$((SECONDS - begin))"
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

# build NAME TARGET OPTION...: configures and builds a target in a folder.
build() {
	local folder=$builds/$1 target=$2
	shift 2
	quiet cmake -S . -B "$folder" -G Ninja "$@" && quiet ninja -C "$folder" -j"$jobs" -k 0 "$target"
}

# ctests FOLDER: runs the tests of a build folder, and tells them in one line.
ctests() {
	local said status=0
	said=$(ctest --test-dir "$1" -j"$jobs" --output-on-failure --timeout 300 2>&1) || status=$?
	printf '%s\n' "$said"
	sed -nE 's/^[0-9]+% tests passed, ([0-9]+) tests? failed out of ([0-9]+)$/\1 \2/p' <<<"$said" |
		while read -r bad all; do
			echo "$((all - bad)) passed, $bad failed"
		done
	return "$status"
}

build_and_test() {
	local name=$1
	shift
	build "$name" all "$@" && ctests "$builds/$name"
}

# Core keeps no state: the compiled layer has nothing that can be written to.
core_keeps_nothing() {
	local sections
	sections=$(size -A "$builds/gcc/server/core/libfairlead_core.a") &&
		awk '/ex /{ file = $1 } $1 ~ /^\.(data|bss)$/ && $2 > 0 { print file, $0; kept = 1 }
			END { exit kept }' <<<"$sections"
}

# What core's own tests reach of core's branches. The branches of an assert are
# not counted: its other way is the end of the program.
core_coverage() {
	local folder=$builds/cover
	if [ -z "$(find tests/core -name '*.c' -print -quit)" ]; then
		echo 'tests/core has no test yet: not measured'
		return 0
	fi
	build cover tests/core/all -DCMAKE_C_COMPILER=gcc \
		-DCMAKE_BUILD_TYPE=Debug -DFAIRLEAD_COVERAGE=ON || return 1
	find "$folder" -name '*.gcda' -delete
	quiet ctest --test-dir "$folder/tests/core" -j"$jobs" --timeout 300 --output-on-failure || return 1
	gcovr --root . --filter 'server/core/' --object-directory "$folder" \
		--exclude-branches-by-pattern '.*\bassert\(' \
		--branches --print-summary --fail-under-branch "$least_core_branches" \
		"$folder/server/core"
}

# Brings tests/node_modules to what the lock file says, unless it is so already.
node_modules() {
	local kept=tests/node_modules/.lock-installed
	cmp -s tests/package-lock.json "$kept" && return 0
	(cd tests && quiet npm ci --ignore-scripts --no-audit --no-fund) &&
		cp tests/package-lock.json "$kept"
}

install_needed() {
	local packages=("${build_packages[@]}" "${test_packages[@]}")
	# Node may be there by another way than Debian's package.
	command -v node >/dev/null || packages+=(nodejs)
	command -v npm >/dev/null || packages+=(npm)
	need_packages "${packages[@]}" && node_modules
}

extra_suites() {
	local script name
	for script in tests/*/run.sh; do
		name=$(basename "$(dirname "$script")")
		if [ -x "$script" ] && [ "$name" != bench ]; then
			BUILD=$builds/gcc suite "$name" "$script"
		fi
	done
}

export UBSAN_OPTIONS=print_stacktrace=1
mkdir -p "$logs"
title 'what is needed'
if ! install_needed; then
	echo '0 passed, 1 failed'
	exit 1
fi

suite 'format' tests/check-format.sh
suite 'includes' tests/check-includes.sh
suite 'includes, self-test' tests/check-includes.sh --self-test
suite 'gcc' build_and_test gcc -DCMAKE_C_COMPILER=gcc
suite 'gcc, release' build release fairlead -DCMAKE_C_COMPILER=gcc -DCMAKE_BUILD_TYPE=Release
suite 'core keeps nothing' core_keeps_nothing
suite 'branches of core' core_coverage
suite 'clang with sanitizers' build_and_test clang -DCMAKE_C_COMPILER=clang \
	-DFAIRLEAD_SANITIZE=address,undefined
extra_suites

title 'totals'
printf '%s\n' "${summary[@]}"
sed -n 's/^branches: /branches of core reached: /p' "$logs/branches-of-core.log"
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
