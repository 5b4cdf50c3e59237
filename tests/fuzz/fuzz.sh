#!/bin/bash
# Looks for inputs on which a fuzz target fails.
#
#     tests/fuzz/fuzz.sh TARGET [SECONDS]      tests/fuzz/fuzz.sh statement 60
#
# What it finds interesting gathers in build-fuzz/found/TARGET; an input that
# fails is left as build-fuzz/fail-TARGET-*. Put such a one into kept/TARGET
# with a telling name: every test run replays it from then on.
set -euo pipefail
cd "$(dirname "$0")/../.."
target=${1:?which target: date, serial, statement, due, tmpl, markdown, multipart, opened, picture, form or head}
seconds=${2:-60}
build='build-fuzz'

cmake -S . -B "$build" -G Ninja -DCMAKE_C_COMPILER=clang -DFAIRLEAD_FUZZ=ON -DFAIRLEAD_WERROR=OFF \
	-DFAIRLEAD_SANITIZE=address,undefined,fuzzer-no-link >"$build.log" 2>&1 ||
	{ cat "$build.log"; exit 1; }
rm -f "$build.log"
ninja -C "$build" "fuzz_$target"
mkdir -p "$build/found/$target"
"$build/fuzz_$target" -max_total_time="$seconds" -timeout=5 -rss_limit_mb=1024 \
	-artifact_prefix="$build/fail-$target-" "$build/found/$target" "tests/fuzz/kept/$target"
