/* kit_answer.h - the next question, as the kit's page asks it. */
#ifndef WEB_KITS_KIT_ANSWER_H
#define WEB_KITS_KIT_ANSWER_H

#include "chapter/kit_view.h"

/* For kit_question.html: {"words", "fact", "notices", "mandatory", "buttons":
 * [{"value", "word"}...], "typed": a hint or false, "elsewhere": address of the
 * place in the form of all facts}; false when nothing is asked. New reference. */
json_t *kit_question(const struct kit_view *view);

#endif
