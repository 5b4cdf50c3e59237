# Turns a folder into one C file: a sorted table of struct embedded_file.
# Called with OUT, SYMBOL, FOLDER and PATTERNS by fairlead_embed in the top
# CMakeLists.txt. With patterns files go by their bare names, which must differ.
if(PATTERNS)
	string(REPLACE "," ";" globs "${PATTERNS}")
else()
	set(globs *)
endif()
list(TRANSFORM globs PREPEND ${FOLDER}/)
file(GLOB_RECURSE paths ${globs})
set(files "")
foreach(path ${paths})
	if(PATTERNS)
		get_filename_component(name ${path} NAME)
	else()
		file(RELATIVE_PATH name ${FOLDER} ${path})
	endif()
	list(FIND files ${name} there)
	if(NOT there EQUAL -1)
		message(FATAL_ERROR "two files are called ${name}")
	endif()
	list(APPEND files ${name})
	set(path_of_${name} ${path})
endforeach()
list(SORT files)
set(bodies "")
set(rows "")
set(count 0)
foreach(file ${files})
	if(file MATCHES "(^|/)\\.|CMakeLists")
		continue()
	endif()
	file(READ ${path_of_${file}} hex HEX)
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
