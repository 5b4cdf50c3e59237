#!/bin/bash
# Installs what the tests need, builds, runs every test, and ends with one line
# of totals: "N passed, N failed, N skipped". Leaves with 1 when anything failed.
#
#     tests/run.sh
#
# In order: layout of the sources; direction of includes; gcc with warnings as
# errors and every test; the release, as deploy/install.sh builds it; nothing
# writable in core; branch coverage of server/core by the tests of core alone;
# clang with ASan and UBSan and every test; then each tests/*/run.sh (pages,
# HTTP, templates), which finds the plain gcc build in BUILD and ends with a
# line of the same form; then those that run the program, with the release.
# tests/bench measures and is run by hand.
#
# FAIRLEAD_BUILD names the folder for the builds (build-test). Nothing here
# needs a network once the packages are there, nor a fixed port. (nginx, of which
# the configuration is tried, is started by its package where systemd runs.)
set -uo pipefail
cd "$(dirname "$0")/.." || exit 1
# shellcheck source=deploy/packages.sh
. deploy/packages.sh
# shellcheck source=tests/support/suites.sh
. tests/support/suites.sh

builds=$(realpath -m "${FAIRLEAD_BUILD:-build-test}")
logs=$builds/logs
least_core_branches=95
jobs=2

# Rights that a machine may refuse; a test is skipped without. Whatever else is
# lacking is a failure: packages are installed below.
may_lack=(
	'this machine allows no mount'
	'no control group can be made here'
)

test_packages=(
	clang libclang-rt-14-dev clang-format gcovr shellcheck python3-networkx python3-scipy
	curl sqlite3 rsync chromium fonts-liberation
	systemd nginx-light openssl zbar-tools librsvg2-bin libfaketime
	libimage-exiftool-perl python3-pil python3-feedparser python3-icalendar libxml2-utils python3-aiosmtpd
)

# build NAME TARGET OPTION...: configures and builds a target in a folder.
build() {
	local folder=$builds/$1 target=$2
	shift 2
	quiet cmake -S . -B "$folder" -G Ninja "$@" && quiet ninja -C "$folder" -j"$jobs" -k 0 "$target"
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
	quiet ctest --test-dir "$folder/tests/core" --no-tests=error -j"$jobs" --timeout 300 --output-on-failure || return 1
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

# The release is what install.sh ships, which finds it built: no asserts in it. Warnings
# are errors by another flag than the one that install.sh turns off.
release_asserts_nothing() {
	build release fairlead -DCMAKE_C_COMPILER=gcc -DCMAKE_BUILD_TYPE=Release \
		-DFAIRLEAD_WERROR=OFF -DCMAKE_C_FLAGS=-Werror &&
		! nm --dynamic "$builds/release/fairlead" | grep __assert_fail
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
task 'gcc, release' release_asserts_nothing
task 'core keeps nothing' core_keeps_nothing
task 'branches of core' core_coverage
suite 'clang with sanitizers' build_and_test clang -DCMAKE_C_COMPILER=clang \
	-DFAIRLEAD_SANITIZE=address,undefined
RELEASE=$builds/release extra_suites tests "$builds/gcc"
named_suites tests "$builds/release" http cli fault
sed -n 's/^branches: /branches of core reached: /p' "$logs/branches-of-core.log"
end_suites
