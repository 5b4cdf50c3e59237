#!/bin/bash
# Checks that the C sources are as .clang-format lays them out, and that the
# shell scripts raise no warning of shellcheck's. Changes nothing.
#
#     tests/check-format.sh
set -euo pipefail
cd "$(dirname "$0")/.."

passed=0
failed=0

# check NAME COMMAND...: counts one check.
check() {
	local name=$1
	shift
	if "$@"; then
		passed=$((passed + 1))
	else
		failed=$((failed + 1))
		echo "$name: see above" >&2
	fi
}

# Layout differs between versions of the tool; Debian 12 has 14.
clang_format=$(command -v clang-format-14 || echo clang-format)
mapfile -t sources < <(find server tests -name node_modules -prune -o \
	-type f \( -name '*.c' -o -name '*.h' \) -print | sort)
mapfile -t scripts < <(find deploy tests -name node_modules -prune -o \
	-type f -name '*.sh' -print | sort)

check 'layout of C' "$clang_format" --dry-run -Werror "${sources[@]}"
check 'shell scripts' shellcheck --external-sources --source-path=SCRIPTDIR "${scripts[@]}" .ci/run

echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
