# Turns a folder into one C file: a sorted table of struct embedded_file.
# Called with OUT, SYMBOL and FOLDER by fairlead_embed in the top CMakeLists.txt.
file(GLOB_RECURSE files RELATIVE ${FOLDER} ${FOLDER}/*)
list(SORT files)
set(bodies "")
set(rows "")
set(count 0)
foreach(file ${files})
	if(file MATCHES "(^|/)\\.|CMakeLists")
		continue()
	endif()
	file(READ ${FOLDER}/${file} hex HEX)
	string(LENGTH "${hex}" length)
	math(EXPR length "${length} / 2")
	string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
	string(APPEND bodies "static const unsigned char file_${count}[] = {${bytes}0};\n")
	string(APPEND rows "\t{\"${file}\", (const char *)file_${count}, ${length}},\n")
	math(EXPR count "${count} + 1")
endforeach()
file(WRITE ${OUT} "/* Made by server/embed.cmake from ${SYMBOL}; do not edit. */
#include \"base/embedded.h\"

extern const struct embedded_file ${SYMBOL}[];
extern const size_t ${SYMBOL}_count;

${bodies}
const struct embedded_file ${SYMBOL}[] = {
${rows}\t{NULL, NULL, 0}};
const size_t ${SYMBOL}_count = ${count};
")
