#include "core/notice.h"

#include <strings.h>

const char *const notice_kinds[NOTICE_KINDS + 1] = {
        [KIND_SERVICE_BULLETIN] = "service bulletin", [KIND_SERVICE_LETTER] = "service letter",
        [KIND_SAFETY_DIRECTIVE] = "safety directive", [KIND_PLANS_CHANGE] = "plans change",
        [KIND_CHAPTER_ADVISORY] = "chapter advisory",
};

const char *const notice_forces[FORCES + 1] = {
        [FORCE_MANDATORY] = "mandatory",
        [FORCE_RECOMMENDED] = "recommended",
        [FORCE_OPTIONAL] = "optional",
};

const char *const notice_dispositions[DISPOSITIONS + 1] = {
        [DISPOSE_REWORK] = "rework",       [DISPOSE_REPLACE] = "replace", [DISPOSE_SCRAP] = "scrap",
        [DISPOSE_USE_AS_IS] = "use as is", [DISPOSE_INSPECT] = "inspect",
};

static bool find_words(const char *const *table, unsigned count, const char *words, unsigned *out)
{
	for (unsigned i = 0; i < count; i++)
		if (strcasecmp(table[i], words) == 0) {
			*out = i;
			return true;
		}
	return false;
}

const char *notice_kind_words(enum notice_kind kind)
{
	return notice_kinds[kind];
}

const char *force_words(enum force force)
{
	return notice_forces[force];
}

const char *disposition_words(enum disposition disposition)
{
	return notice_dispositions[disposition];
}

bool notice_kind_from_words(const char *words, enum notice_kind *out)
{
	unsigned found;

	if (!find_words(notice_kinds, NOTICE_KINDS, words, &found))
		return false;
	*out = (enum notice_kind)found;
	return true;
}

bool force_from_words(const char *words, enum force *out)
{
	unsigned found;

	if (!find_words(notice_forces, FORCES, words, &found))
		return false;
	*out = (enum force)found;
	return true;
}

bool disposition_from_words(const char *words, enum disposition *out)
{
	unsigned found;

	if (!find_words(notice_dispositions, DISPOSITIONS, words, &found))
		return false;
	*out = (enum disposition)found;
	return true;
}
