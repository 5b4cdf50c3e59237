/* truth.h - truth with three values: unknown is not no.
 *
 * Strong Kleene logic (S. C. Kleene, Introduction to Metamathematics, 1952,
 * section 64): with false < unknown < true, "and" is the lesser, "or" the
 * greater, and "not" swaps the ends. SQL's NULL follows the same tables.
 */
#ifndef CORE_TRUTH_H
#define CORE_TRUTH_H

enum truth { TRUTH_FALSE = 0, TRUTH_UNKNOWN = 1, TRUTH_TRUE = 2 };

static inline enum truth truth_and(enum truth a, enum truth b)
{
	return a < b ? a : b;
}

static inline enum truth truth_or(enum truth a, enum truth b)
{
	return a > b ? a : b;
}

static inline enum truth truth_not(enum truth a)
{
	return (enum truth)(TRUTH_TRUE - a);
}

static inline enum truth truth_of(int holds)
{
	return holds ? TRUTH_TRUE : TRUTH_FALSE;
}

#endif
