/* fuzz.h - what the fuzz targets share.
 *
 * Each target gets arbitrary bytes and checks what must hold for any. It is
 * built twice: with replay.c, which feeds it the files kept in kept/ in every
 * test run; and, with FAIRLEAD_FUZZ and clang, with libFuzzer
 * (llvm.org/docs/LibFuzzer.html), which looks for new ones: see fuzz.sh.
 */
#ifndef TESTS_FUZZ_H
#define TESTS_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len);

/* Ends the program, which libFuzzer and replay.c report with the input. */
static inline void must(int holds, const char *words)
{
	if (holds)
		return;
	fprintf(stderr, "does not hold: %s\n", words);
	abort();
}

/* A copy that a NUL ends, in a block of its own, so that a sanitizer sees each
 * byte read past it. Given to free. */
static inline char *fuzz_string(const uint8_t *bytes, size_t len)
{
	char *copy = malloc(len + 1);

	must(copy != NULL, "there is memory");
	if (len)
		memcpy(copy, bytes, len);
	copy[len] = '\0';
	return copy;
}

#endif
