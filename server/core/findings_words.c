/* The best split in words, and as a line of an effectivity statement. */
#include "core/findings.h"

#include <math.h>
#include <string.h>

#include "core/slice.h"

/* ---- the statement ---- */

/* Would the statement language read the name as anything but one name? */
static bool is_plain(const struct name *name, bool part)
{
	struct slice rest = {name->text, name->len}, word = slice_word(&rest);
	struct slice last = {NULL, 0};

	if (!word.len || strchr(name->text, ','))
		return false;
	while ((word = slice_word(&rest)).len) {
		if (part && (slice_is(word, "serial") || slice_is(word, "lot")))
			return false;
		last = word;
	}
	return !(part && last.len && slice_is(last, "series"));
}

static void add_iso(struct text *out, struct date date)
{
	char iso[DATE_TEXT_SIZE];

	date_print(date, iso);
	text_add(out, iso);
}

/* A side of what has an order, as the statement language writes it. */
static void add_range(const struct split *split, bool inside, struct text *out)
{
	text_add(out, inside ? "up to " : "");
	if (split->kind == SPLIT_PURCHASED || split->kind == SPLIT_PLANS)
		add_iso(out, date_of_day(inside ? split->last_day : split->next_day));
	else
		text_add(out, inside ? split->last.text : split->next.text);
	text_add(out, inside ? "" : " and on");
}

void split_statement(const struct split *split, struct text *out)
{
	static const char *const keywords[SPLIT_KINDS] = {
	        [SPLIT_SERIAL] = "serial ",
	        [SPLIT_PURCHASED] = "purchased ",
	        [SPLIT_PLANS] = "plans ",
	};

	if (split->kind == SPLIT_OPTION) {
		if (is_plain(&split->about, false))
			text_printf(out, "%soption %s", split->cluster_inside ? "" : "not ",
			            split->about.text);
		return;
	}
	if (split->kind == SPLIT_ISSUE) {
		text_add(out, split->cluster_inside ? "plans " : "not plans ");
		add_iso(out, split->issue);
		return;
	}
	if (split->kind == SPLIT_LOT && !is_plain(&split->about, true))
		return;
	if (split->kind == SPLIT_LOT)
		text_printf(out, "part %s lot ", split->about.text);
	else
		text_add(out, keywords[split->kind]);
	add_range(split, split->cluster_inside, out);
}

/* ---- words ---- */

void split_side_brief(const struct split *split, bool inside, struct text *out)
{
	if (split->kind == SPLIT_OPTION) {
		text_printf(out, "%s option %s", inside ? "with" : "without", split->about.text);
	} else if (split->kind == SPLIT_ISSUE) {
		text_add(out, inside ? "plans " : "other plans");
		if (inside)
			add_iso(out, split->issue);
	} else {
		add_range(split, inside, out);
	}
}

static void add_day_words(const struct split *split, bool inside, struct text *out)
{
	char words[DATE_WORDS_SIZE];

	date_words(date_of_day(inside ? split->last_day : split->next_day), words);
	text_printf(out, inside ? "up to %s" : "on %s or later", words);
}

static void add_issue_words(const struct split *split, bool inside, struct text *out)
{
	char words[DATE_WORDS_SIZE];

	date_words(split->issue, words);
	text_printf(out, "with plans of %s%s", inside ? "" : "another issue than ", words);
}

void split_side_words(const struct split *split, bool inside, struct text *out)
{
	switch (split->kind) {
	case SPLIT_SERIAL:
		text_add(out, "with serial number ");
		break;
	case SPLIT_PURCHASED:
		text_add(out, "bought ");
		add_day_words(split, inside, out);
		return;
	case SPLIT_PLANS:
		text_add(out, "with plans issued ");
		add_day_words(split, inside, out);
		return;
	case SPLIT_ISSUE:
		add_issue_words(split, inside, out);
		return;
	case SPLIT_OPTION:
		break;
	case SPLIT_LOT:
		text_printf(out, "with part %s of lot ", split->about.text);
		break;
	}
	split_side_brief(split, inside, out);
}

static void add_side(const struct split *split, bool inside, struct text *out)
{
	size_t found = inside ? split->inside_found : split->outside_found;
	size_t looked = inside ? split->inside_looked : split->outside_looked;

	text_printf(out, "on %zu of %zu kit%s ", found, looked, looked == 1 ? "" : "s");
	split_side_words(split, inside, out);
}

static void add_left_out(const struct split *split, struct text *out)
{
	static const char *const facts[SPLIT_KINDS] = {
	        [SPLIT_SERIAL] = "serial number", [SPLIT_PURCHASED] = "purchase date",
	        [SPLIT_PLANS] = "plans issue",    [SPLIT_ISSUE] = "plans issue",
	        [SPLIT_OPTION] = "options",       [SPLIT_LOT] = "lots",
	};

	if (split->left_out)
		text_printf(out, " Left out: %zu kit%s whose %s cannot tell the side.",
		            split->left_out, split->left_out == 1 ? "" : "s", facts[split->kind]);
}

void split_words(const struct split *split, struct text *out)
{
	text_add(out, "Perhaps it clusters: found ");
	add_side(split, split->cluster_inside, out);
	text_add(out, ", ");
	add_side(split, !split->cluster_inside, out);
	text_add(out, ".");
	add_left_out(split, out);
	if (split->corrected < 0.001)
		text_add(out, " Chance alone would make so sharp a split in fewer than 1 of 1000");
	else
		text_printf(out,
		            " Chance alone would make so sharp a split in at most %.0f of 1000",
		            ceil(split->corrected * 1000));
	text_printf(out,
	            " such reports (Fisher's exact test, corrected for the %zu split%s tried). "
	            "This is a hint where to look, not a finding.",
	            split->tried, split->tried == 1 ? "" : "s");
}
