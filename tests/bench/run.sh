#!/bin/bash
# Installs what is needed, makes a release build and prints the table of
# measures. The machine should have nothing else to do meanwhile; servers and
# load stay on 127.0.0.1 and end by themselves.
#
#     tests/bench/run.sh [BUILD]
set -euo pipefail
cd "$(dirname "$0")/../.."
# shellcheck source=deploy/packages.sh
. deploy/packages.sh
build=${1:-build-bench}

# better-sqlite3 is built here, with the headers of the installed Node: nothing
# is fetched but packages from the registry.
node_modules() {
	local kept=tests/bench/node_modules/.lock-installed
	local prefix
	cmp -s tests/bench/package-lock.json "$kept" && return
	prefix=$(dirname "$(dirname "$(readlink -f "$(command -v node)")")")
	(cd tests/bench &&
		npm_config_nodedir=$prefix npm_config_build_from_source=true \
			npm ci --no-audit --no-fund >&2)
	cp tests/bench/package-lock.json "$kept"
}

packages=("${build_packages[@]}" g++ make python3 python3-networkx nginx-light wrk sqlite3)
command -v node >/dev/null || packages+=(nodejs npm libnode-dev)
need_packages "${packages[@]}" >&2
node_modules
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release >&2
ninja -C "$build" fairlead bench_decide bench_fill bench_findings bench_news bench_plan bench_report bench_whom >&2
exec node tests/bench/bench.mjs "$build"
