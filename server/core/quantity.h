/* quantity.h - hours and counts as people write them.
 *
 * Hours are kept in hundredths of an hour, as a tachometer shows them; counts
 * are whole. Both are never negative and stay below ten million, far above
 * any airframe.
 */
#ifndef CORE_QUANTITY_H
#define CORE_QUANTITY_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "base/text.h"

#define QUANTITY_MOST 9999999

/* "1210", "1210.5", "1210.25": ST_INVALID for anything else. */
enum status hours_parse(const char *text, size_t len, int64_t *out) MUST_CHECK;
enum status count_parse(const char *text, size_t len, int64_t *out) MUST_CHECK;

/* "1210", "1210.5", "1210.25" */
void hours_print(int64_t hours, struct text *out);

#endif
