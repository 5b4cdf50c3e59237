/* kit_facts.h - reading the form of a kit's facts. */
#ifndef WEB_KITS_KIT_FACTS_H
#define WEB_KITS_KIT_FACTS_H

#include "web/html/fact_form.h"

/* The words of the choices: fitted or not, received or not; ended by NULL. */
extern const char *const kit_option_states[];
extern const char *const kit_subkit_states[];

/* The fields that kit_facts_read takes, for a table of inputs. */
#define KIT_FACTS_INPUTS                                                                           \
	KEPT_FACTS(FACT_INPUT){"not_flown", "Not flown yet", INPUT_FLAG},                          \
	        {"option", "Option", INPUT_NAME, .repeated = true},                                \
	        {"option_state", "Fitted or planned?", INPUT_CHOICE, .repeated = true,             \
	         .choices = kit_option_states},                                                    \
	        {"subkit", "Sub-kit", INPUT_NAME, .repeated = true},                               \
	        {"subkit_state", "Received?", INPUT_CHOICE, .repeated = true,                      \
	         .choices = kit_subkit_states},                                                    \
	        {"subkit_shipped", "Shipped", INPUT_DATE, .repeated = true},                       \
	        {"part", "Part number", INPUT_NAME, .repeated = true},                             \
	        {"part_position", "Position", INPUT_NAME, .repeated = true},                       \
	        {"part_serial", "Serial number", INPUT_SERIAL, .repeated = true},                  \
	        {"part_lot", "Lot", INPUT_SERIAL, .repeated = true},                               \
	        {"parts_known", "This is every part fitted that has a number", INPUT_FLAG},        \
	        {"steps", "Steps built", INPUT_TEXT,                                               \
	         .hint = "Codes of the steps, with commas or line ends between"},                  \
	        {"steps_known", "These are all the steps built so far", INPUT_FLAG},               \
	        {"plan_step", "Step", INPUT_NAME, .repeated = true},                               \
	{                                                                                          \
		"plan_date", "Built from plans of", INPUT_DATE, .repeated = true                   \
	}

/* Fills *facts from the form (all but what was said of notices done), and adds
 * to the form every fault that only shows between fields: a name that stands
 * twice, a date to come, a state without a name. Facts count only when the
 * form is without faults. Borrowed from the arena. ST_NOMEM. */
enum status kit_facts_read(struct arena *arena, struct form *form, day_number today,
                           struct facts *facts) MUST_CHECK;

#endif
