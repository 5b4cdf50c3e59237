#!/bin/bash
# Checks that the arrows between the layers point one way, that each library
# is known to one layer only, that base and core stay free of the world
# outside, and that the top level holds nothing but its fixed names.
#
#     tests/check-includes.sh [FOLDER]      checks a source tree, this one if none is named
#     tests/check-includes.sh --self-test   checks that bad samples are refused
#
# The build keeps most of this too. This finds the rest: a system header that
# any layer could reach, a call that needs no header of ours.
set -euo pipefail

top_level=' README.md DEVELOPERS.md CMakeLists.txt server static migrations tests seed deploy LICENSE '

# What each layer may include. The files beside main.c are the layer "main".
declare -A may_include=(
	[base]='base'
	[core]='core base'
	[store]='store core base'
	[os]='os base'
	[formats]='formats core base'
	[chapter]='chapter formats store core base os'
	[web]='web chapter formats store core base os'
	[cli]='cli web chapter formats store core base os'
	[main]='cli web chapter formats store core base os'
)

# Where a library's header may be included: layers, or one file.
declare -A may_use=(
	[microhttpd.h]='web/http/httpd.c'
	[sqlite3.h]='store'
	[curl/curl.h]='os/mail.c'
	[jansson.h]='formats chapter web cli'
	[jpeglib.h]='chapter/picture_size.c'
	[png.h]='chapter/picture_size.c'
	[webp/decode.h]='chapter/picture_size.c'
	[sodium.h]='os store'
	[utf8proc.h]='core/marks.c core/name.c'
)

# Calls that reach the clock, chance, the environment, files or the terminal.
# They may not occur in the pure layers; time belongs to the caller.
impure='time|clock|clock_gettime|gettimeofday|localtime|localtime_r|rand|random|srand|srandom'
impure+='|getrandom|getenv|setenv|secure_getenv|fopen|open|openat|read|write|printf|fprintf'
impure+='|vprintf|vfprintf|puts|fputs|putchar|perror|system|exit|syslog|socket'
pure_layers=' base core '

faults=0
fault() {
	faults=$((faults + 1))
	echo "$1" >&2
}

# has LIST WORD: is the word in the list, which blanks separate?
has() {
	[[ " $1 " == *" $2 "* ]]
}

check_top_level() {
	local path name
	for path in "$1"/*; do
		name=${path##*/}
		# Build folders are not part of the tree: git ignores them.
		[[ $name == build* ]] || has "$top_level" "$name" ||
			fault "$name: not one of the names of the top level"
	done
}

# check_include WHERE LAYER FILE HEADER STYLE: one line that includes. STYLE is
# the character in front of the header's name.
check_include() {
	local where=$1 layer=$2 file=$3 header=$4 style=$5
	if [[ $header == *..* ]]; then
		fault "$where: includes $header by way of .."
	elif [ "$style" = '"' ] && [ "$layer" != tests ]; then
		if [[ $header != */* ]] || ! has "${may_include[$layer]}" "${header%%/*}"; then
			fault "$where: $layer may not include $header"
		fi
	elif [ -n "${may_use[$header]:-}" ] && [ "$layer" != tests ]; then
		has "${may_use[$header]}" "$layer" || has "${may_use[$header]}" "$file" ||
			fault "$where: $header belongs to ${may_use[$header]}"
	fi
}

check_includes() {
	local path=$1 layer=$2 file=$3 line number header
	while IFS=: read -r number line; do
		[[ $line =~ ^[[:space:]]*\#[[:space:]]*include[[:space:]]*([\"\<])([^\"\>]+) ]] || continue
		header=${BASH_REMATCH[2]}
		check_include "$file:$number" "$layer" "$file" "$header" "${BASH_REMATCH[1]}"
	done < <(grep -nE '^[[:space:]]*#[[:space:]]*include' "$path" || true)
}

# The compiler takes the comments out and keeps the lines' numbers; texts in
# quotes go too, so that only code is looked at.
code_of() {
	gcc -fpreprocessed -E -P -x c "$1" | sed -E "s/'(\\\\.|[^\\\\])'/0/g; s/\"([^\"\\\\]|\\\\.)*\"/\"\"/g"
}

check_pure() {
	local path=$1 file=$2 code call
	if ! code=$(code_of "$path"); then
		fault "$file: cannot be read as C"
		return
	fi
	while read -r call; do
		fault "$file: calls $call, and this layer may not"
	done < <(grep -oE "(^|[^A-Za-z0-9_.>])($impure) *\(" <<<"$code" |
		grep -oE '[a-z_]+' | sort -u || true)
}

# layer_of FILE: the folder below server/; the files beside main.c are "main".
layer_of() {
	if [[ $1 == */* ]]; then
		echo "${1%%/*}"
	else
		echo main
	fi
}

check_server() {
	local path file layer
	while read -r path; do
		file=${path#"$1"/server/}
		layer=$(layer_of "$file")
		if [ -z "${may_include[$layer]:-}" ]; then
			fault "server/$file: $layer is no layer"
			continue
		fi
		check_includes "$path" "$layer" "$file"
		if has "$pure_layers" "$layer"; then
			check_pure "$path" "$file"
		fi
	done < <(find "$1/server" -type f \( -name '*.c' -o -name '*.h' \) | sort)
}

check_tests() {
	local path
	while read -r path; do
		check_includes "$path" tests "${path#"$1"/}"
	done < <(find "$1/tests" -name node_modules -prune -o \
		-type f \( -name '*.c' -o -name '*.h' \) -print | sort)
}

check_tree() {
	check_top_level "$1"
	check_server "$1"
	check_tests "$1"
}

# Self-test. Each row is a file, its text and a word of the complaint; a row
# without a word must pass.
samples=(
	'server/core/a.c|#include "base/text.h"|'
	'server/core/a.c|/* time(NULL) */ int printf_like; const char *t = "time(";|'
	'server/core/a.c|int n = snprintf(at, room, "x");|'
	'server/core/a.c|int n = date->time(1);|'
	$'server/core/a.c|bool q(char c) { return c == \'"\'; }|'
	'server/web/http/httpd.c|#include <microhttpd.h>|'
	'server/web/a.c|#include "os/clock.h"|'
	'server/main.c|#include "cli/serve.h"|'
	'tests/core/test_a.c|#include "support.h"|'
	'server/base/a.c|#include "core/date.h"|may not include'
	'server/core/a.c|#include "store/kits.h"|may not include'
	'server/core/a.c|#include "date.h"|may not include'
	'server/store/a.c|#include "web/page.h"|may not include'
	'server/store/a.c|#include "os/clock.h"|may not include'
	'server/os/a.c|#include "core/date.h"|may not include'
	'server/formats/a.c|#include "store/kits.h"|may not include'
	'server/formats/a.c|#include "web/http/http.h"|may not include'
	'server/chapter/a.c|#include "web/http/http.h"|may not include'
	'server/store/a.c|#include "chapter/work.h"|may not include'
	'server/core/a.c|#include "formats/csv.h"|may not include'
	'server/web/a.c|#include "cli/serve.h"|may not include'
	'server/web/a.c|#include "web/../store/kits.h"|by way of'
	'tests/web/test_a.c|#include "../server/web/page.h"|by way of'
	'server/web/page.c|#include <microhttpd.h>|belongs to'
	'server/web/page.c|#include <sqlite3.h>|belongs to'
	'server/web/page.c|  #  include <sodium.h>|belongs to'
	'server/core/a.c|#include <jansson.h>|belongs to'
	'server/store/a.c|#include <jansson.h>|belongs to'
	'server/core/a.c|int64_t now = time(NULL);|calls time'
	'server/core/a.c|int n = rand ();|calls rand'
	$'server/core/a.c|int q = c == \'"\' ? time(0) : 0;|calls time'
	'server/base/a.c|const char *home = getenv("HOME");|calls getenv'
	'server/base/a.c|FILE *file = fopen(path, "r");|calls fopen'
	'server/core/a.h|static inline void say(void) { printf("x"); }|calls printf'
	'server/extra/a.c|int n;|is no layer'
	'notes.txt|anything|top level'
)

# try_sample FILE TEXT WORD: does a tree with this file get its answer?
try_sample() {
	local tree status=0 said
	tree=$(mktemp -d)
	mkdir -p "$tree/server" "$tree/tests" "$tree/$(dirname "$1")"
	echo "$2" >"$tree/$1"
	said=$("$0" "$tree" 2>&1) || status=$?
	rm -r "$tree"
	if [ -z "$3" ]; then
		[ "$status" -eq 0 ]
	else
		[ "$status" -ne 0 ] && [[ $said == *"$3"* ]]
	fi
}

self_test() {
	local sample file text word passed=0
	for sample in "${samples[@]}"; do
		file=${sample%%|*}
		word=${sample##*|}
		text=${sample#*|}
		text=${text%|*}
		if try_sample "$file" "$text" "$word"; then
			passed=$((passed + 1))
		else
			fault "wrong answer for: $sample"
		fi
	done
	echo "$passed passed, $faults failed"
}

case ${1:-} in
--self-test)
	self_test
	;;
*)
	check_tree "${1:-$(dirname "$0")/..}"
	if [ "$faults" -eq 0 ]; then
		echo '1 passed, 0 failed'
	else
		echo '0 passed, 1 failed'
	fi
	;;
esac
[ "$faults" -eq 0 ]
