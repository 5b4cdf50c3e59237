/* findings_view.c - shares as dimension lines, in units of a figure 340 wide.
 *
 * From above: one row for each share, with its words, its line and its mark;
 * the base line that the extension lines rise from; the ticks of the scale.
 */
#include "web/html/findings_view.h"

#include <math.h>

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/present.h"

#define X_ZERO 14
#define X_FULL 326
#define ROW 38           /* height of one dimension line with its words */
#define LABEL_IN_ROW 15  /* the foot of its words, from the top of the row */
#define LINE_IN_ROW 27   /* its line */
#define NARROW 30        /* narrower lines have their arrows outside */
#define OUTSIDE 14       /* how far those lines go on beyond them */
#define TICK 6           /* below the base line */
#define TICK_WORDS 21    /* the foot of their words below it */
#define FOOT 27          /* height of the figure below it */
#define LABEL_LETTERS 36 /* longer words are cut */

/* Some kits, and how many of them had it. */
struct share {
	size_t found, looked;
	struct interval interval;
};

static struct share share_of(size_t found, size_t looked)
{
	return (struct share){found, looked, findings_interval(found, looked, FINDINGS_CONFIDENCE)};
}

/* A limit strictly between none and all is never rounded to them. */
static void add_percent(struct text *out, double part)
{
	double percent = part * 100;

	if (part <= 0 || part >= 1)
		text_add(out, part <= 0 ? "0" : "100");
	else if (percent < 0.05)
		text_add(out, "under 0.1");
	else if (percent >= 99.95)
		text_add(out, "over 99.9");
	else
		text_printf(out, "%.1f", percent);
}

static json_t *percent(double part)
{
	struct text text = TEXT_EMPTY;

	add_percent(&text, part);
	return json_take_text(&text);
}

/* "7 of 17 kits: 41.2 %, exact 95 % interval 18.4 to 67.1 %" */
static void add_share(struct text *out, const struct share *share)
{
	text_printf(out, "%zu of %zu kit%s: ", share->found, share->looked,
	            share->looked == 1 ? "" : "s");
	add_percent(out, (double)share->found / (double)share->looked);
	text_printf(out, " %%, exact %.0f %% interval ", FINDINGS_CONFIDENCE * 100);
	add_percent(out, share->interval.low);
	text_add(out, " to ");
	add_percent(out, share->interval.high);
	text_add(out, " %");
}

/* ---- the figure ---- */

static int x_of(double part)
{
	return X_ZERO + (int)lround(part * (X_FULL - X_ZERO));
}

/* An arrow head with its tip at x. */
static json_t *arrow(int x, int y, bool right)
{
	return json_sprintf("M%d %dl%d-4v8z", x, y, right ? -10 : 10);
}

/* Whole characters only. */
static size_t fitting(const char *words, size_t letters)
{
	size_t at = 0;

	while (words[at] && letters) {
		for (at++; ((unsigned char)words[at] & 0xC0) == 0x80;)
			at++;
		letters--;
	}
	return at;
}

static json_t *label(const char *words)
{
	size_t all = fitting(words, LABEL_LETTERS);

	if (!words[all])
		return json_string(words);
	return json_sprintf("%.*s...", (int)fitting(words, LABEL_LETTERS - 3), words);
}

static json_t *row_view(const struct share *share, int row, int base, const char *words)
{
	int low = x_of(share->interval.low), high = x_of(share->interval.high);
	int at = x_of((double)share->found / (double)share->looked);
	int y = row * ROW + LINE_IN_ROW;
	bool narrow = high - low < NARROW;
	int over = narrow ? OUTSIDE : 0;

	return json_pack("{s:i, s:i, s:i, s:o, s:o, s:o, s:o, s:o, s:i}", "x1", low - over, "x2",
	                 high + over, "y", y, "first", arrow(low, y, narrow), "last",
	                 arrow(high, y, !narrow), "extensions",
	                 json_sprintf("M%d %dV%dM%d %dV%d", low, y - 6, base, high, y - 6, base),
	                 "mark", json_sprintf("M%d %dl6 6-6 6-6-6z", at, y - 6), "label",
	                 label(words), "label_y", row * ROW + LABEL_IN_ROW);
}

static json_t *ticks_view(int base)
{
	json_t *ticks = json_array();

	for (int percent = 0; ticks && percent <= 100; percent += 25)
		ticks = present_append(
		        ticks,
		        json_pack("{s:i, s:i, s:i, s:i, s:s, s:o}", "x", x_of(percent / 100.0),
		                  "y1", base, "y2", base + TICK, "words_y", base + TICK_WORDS,
		                  "anchor",
		                  percent == 100 ? "end"
		                  : percent      ? "middle"
		                                 : "start",
		                  "words", json_sprintf(percent == 100 ? "%d %%" : "%d", percent)));
	return ticks;
}

/* labels: one for each share. */
static json_t *figure_view(const struct share *shares, const char *const *labels, int count,
                           const char *alt)
{
	int base = count * ROW + 4;
	json_t *rows = json_array();

	for (int i = 0; rows && i < count; i++)
		rows = present_append(rows, row_view(&shares[i], i, base, labels[i]));
	return json_pack("{s:s, s:i, s:i, s:o, s:o}", "alt", alt, "base", base, "height",
	                 base + FOOT, "rows", rows, "ticks", ticks_view(base));
}

/* ---- the split ---- */

static struct share side_of(const struct split *split, bool inside)
{
	return inside ? share_of(split->inside_found, split->inside_looked)
	              : share_of(split->outside_found, split->outside_looked);
}

/* "7 of 8 up to WH-0145" for the figure, the whole words for its alt. */
static void say_side(const struct split *split, bool inside, const struct share *share,
                     struct text *brief, struct text *alt)
{
	text_printf(brief, "%zu of %zu, ", share->found, share->looked);
	split_side_brief(split, inside, brief);
	text_add(alt, alt->len ? "; kits " : "Kits ");
	split_side_words(split, inside, alt);
	text_add(alt, ", found on ");
	add_share(alt, share);
}

/* The side with the larger share first. */
static json_t *split_figure(const struct split *split)
{
	bool first = split->cluster_inside;
	struct share shares[2] = {side_of(split, first), side_of(split, !first)};
	struct text briefs[2] = {TEXT_EMPTY, TEXT_EMPTY}, alt = TEXT_EMPTY;
	json_t *view = NULL;

	for (int i = 0; i < 2; i++)
		say_side(split, i == 0 ? first : !first, &shares[i], &briefs[i], &alt);
	if (!text_failed(&briefs[0]) && !text_failed(&briefs[1]) && !text_failed(&alt))
		view = figure_view(
		        shares, (const char *[]){text_string(&briefs[0]), text_string(&briefs[1])},
		        2, text_string(&alt));
	text_free(&briefs[0]);
	text_free(&briefs[1]);
	text_free(&alt);
	return view;
}

static json_t *split_view(const struct split *split)
{
	struct text words = TEXT_EMPTY, statement = TEXT_EMPTY;
	json_t *line;

	split_words(split, &words);
	split_statement(split, &statement);
	line = json_take_text(&statement);
	if (line && json_string_length(line) == 0) {
		json_decref(line);
		line = json_false();
	}
	return json_pack("{s:o, s:o, s:o}", "words", json_take_text(&words), "statement", line,
	                 "figure", split_figure(split));
}

/* ---- all of it ---- */

static json_t *reason(const struct findings_tally *tally, bool settled)
{
	struct text text = TEXT_EMPTY;

	report_state_reason(tally, settled, &text);
	return json_take_text(&text);
}

static json_t *counts_view(const struct findings_tally *tally, bool settled)
{
	return json_pack("{s:o, s:I, s:I, s:I, s:I, s:s}", "reason", reason(tally, settled),
	                 "found", (json_int_t)tally->found, "looked", (json_int_t)tally->looked,
	                 "not_there", (json_int_t)tally->not_there, "does_not_fit",
	                 (json_int_t)tally->does_not_fit, "caution",
	                 "Whoever finds a fault answers more often than who finds none: the "
	                 "interval tells of these answers, not of all kits.");
}

static json_t *with_nothing(json_t *view)
{
	static const char *const names[] = {"share", "low", "high", "figure"};

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		view = present_set(view, names[i], json_false());
	return present_set(view, "words", json_string("Nobody has looked yet."));
}

static json_t *with_share(json_t *view, const struct share *share)
{
	struct text words = TEXT_EMPTY, brief = TEXT_EMPTY;

	text_add(&words, "Found on ");
	add_share(&words, share);
	text_add(&words, ".");
	text_printf(&brief, "%zu of %zu", share->found, share->looked);
	view = present_set(view, "share", percent((double)share->found / (double)share->looked));
	view = present_set(view, "low", percent(share->interval.low));
	view = present_set(view, "high", percent(share->interval.high));
	if (text_failed(&words) || text_failed(&brief))
		view = present_set(view, "figure", NULL);
	else
		view = present_set(view, "figure",
		                   figure_view(share, (const char *[]){text_string(&brief)}, 1,
		                               text_string(&words)));
	text_free(&brief);
	return present_set(view, "words", json_take_text(&words));
}

json_t *findings_view(const struct findings_tally *tally, const struct split *split, bool settled)
{
	json_t *view = counts_view(tally, settled);

	if (tally->looked) {
		struct share share = share_of(tally->found, tally->looked);

		view = with_share(view, &share);
	} else {
		view = with_nothing(view);
	}
	return present_set(view, "split",
	                   split && split->corrected <= SPLIT_HINT ? split_view(split)
	                                                           : json_false());
}
