#!/bin/bash
# Shows Fairlead with its demo scenario on http://127.0.0.1:8080, from nothing:
# installs what is needed from Debian, builds, fills a folder of its own below
# build/, serves. Ctrl-C ends it. BUILD names another folder than build/.
#
#     deploy/demo.sh [PORT]
set -euo pipefail
cd "$(dirname "$0")/.."
# shellcheck source=deploy/packages.sh
. deploy/packages.sh

port=${1:-${PORT:-8080}}
build=${BUILD:-build}
data=$build/demo-data

if ! [[ $port =~ ^[0-9]{1,5}$ ]]; then
	echo 'usage: deploy/demo.sh [PORT]' >&2
	exit 2
fi

echo '1 of 3: looking for the packages that Fairlead is built with'
need_packages "${build_packages[@]}"

echo '2 of 3: building (a few minutes the first time)'
[ -f "$build/build.ninja" ] || cmake -S . -B "$build" -G Ninja >/dev/null
ninja -C "$build" fairlead

echo "3 of 3: serving the demo; its data are in $data, delete that folder to begin anew"
mkdir -p "$data"
exec "$build/fairlead" serve --demo --data "$data" --listen "127.0.0.1:$port"
