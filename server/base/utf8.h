/* utf8.h - is this text fit to be kept and shown?
 *
 * Well-formed UTF-8 as in RFC 3629 section 4 (no overlong forms, no
 * surrogates, nothing above U+10FFFF), and without what could mislead a
 * reader: NUL and other control characters except tab and line ends, and the
 * marks that turn the direction of text (Unicode Bidi_Control).
 */
#ifndef BASE_UTF8_H
#define BASE_UTF8_H

#include <stddef.h>

enum utf8_fault { UTF8_FINE = 0, UTF8_MALFORMED, UTF8_CONTROL, UTF8_DIRECTION };

/* The first fault in len bytes at text; *where gets its byte offset (may be NULL). */
enum utf8_fault utf8_check(const char *text, size_t len, size_t *where);

/* "holds ..." in plain words for a form field; borrowed. */
const char *utf8_fault_words(enum utf8_fault fault);

/* Characters (code points) in well-formed text: the unit of every length limit. */
size_t utf8_length(const char *text);

#endif
