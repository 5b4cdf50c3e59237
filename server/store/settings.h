/* settings.h - the chapter's settings, and the generation of its notices. */
#ifndef STORE_SETTINGS_H
#define STORE_SETTINGS_H

#include "store/store.h"

enum setting {
	SETTING_CHAPTER,     /* name of the chapter, "" until set */
	SETTING_ADDRESS,     /* where it is reached from outside: "https://..." */
	SETTING_ONE_STEWARD, /* flag: who wrote a notice may publish it alone */
	SETTING_DEMO,        /* flag: filled with the demo scenario */
	SETTING_ID,          /* the chapter's: 32 hexadecimal digits, made with the database */
	SETTING_KEY          /* the chapter's own, 64 hexadecimal digits, likewise; a secret */
};
#define SETTINGS (SETTING_KEY + 1)

/* "" when never set. */
enum status setting_text(struct store *store, struct arena *arena, enum setting setting,
                         const char **out) MUST_CHECK;
/* A change of what an admin may choose is logged (acts.h). */
enum status setting_set_text(struct store *store, enum setting setting,
                             const char *text) MUST_CHECK;
/* false when never set. */
enum status setting_flag(struct store *store, enum setting setting, bool *out) MUST_CHECK;
enum status setting_set_flag(struct store *store, enum setting setting, bool on) MUST_CHECK;

/* Goes up whenever a published notice or the book of parts changes: publish, cancel, import. */
enum status setting_generation(struct store *store, int64_t *out) MUST_CHECK;
/* One more: the store's own files call it with each such change. */
enum status setting_generation_up(struct store *store) MUST_CHECK;

#endif
