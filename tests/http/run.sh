#!/bin/bash
# The real server over HTTP: the API against its OpenAPI description, few files
# and broken connections, who may call what, headers, hostile words, mail, codes; feeds
# and calendars, read by other programs. Ends with "N passed, N failed".
#
#     BUILD=build tests/http/run.sh
set -uo pipefail
BUILD=$(realpath "${BUILD:-build}")
export BUILD
cd "$(dirname "$0")" || exit 1
# shellcheck source=tests/support/scripts.sh
. ../support/scripts.sh
run_scripts api.mjs agree.mjs edge.mjs roles.mjs feeds.mjs codes.mjs headers.mjs hostile.mjs links.mjs mail.mjs
