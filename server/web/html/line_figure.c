/* line_figure.c - the build line as a drawing, in units of a figure 340 wide.
 *
 * All steps stand side by side in the order of building. From above: the flag
 * at the last good moment; the bar, outlined, in which what is built is filled
 * and what is covered is section-lined; ticks for the steps that a notice
 * names; the place of the kit. Sections are divided by lines as on a rule.
 */
#include <stdio.h>

#include "base/text.h"
#include "formats/json_text.h"
#include "web/html/line_figure.h"
#include "web/html/present.h"

#define LEFT 6.0
#define WIDTH 328.0
#define BAR_TOP 34.0
#define BAR_HEIGHT 30.0
#define BAR_FOOT (BAR_TOP + BAR_HEIGHT)
#define HATCH 6.0 /* between section lines */

struct figure {
	const struct line *line;
	const struct line_progress *progress;
	const struct moment *moment; /* NULL: the line alone */
	const uint64_t *closed;      /* built and covered by what is built */
};

static double x_of(const struct figure *f, uint32_t place)
{
	return LEFT + WIDTH * place / f->line->count;
}

static void add_box(struct text *out, double x1, double x2)
{
	text_printf(out, "M%.1f %.1fH%.1fV%.1fH%.1fZ", x1, BAR_TOP, x2, BAR_FOOT, x1);
}

/* Lines at 45 degrees that start on one grid, so that neighbours match. */
static void add_hatching(struct text *out, double x1, double x2)
{
	double first = HATCH * (int)((x1 - BAR_HEIGHT) / HATCH);

	for (double foot = first; foot < x2; foot += HATCH) {
		double from = foot < x1 ? x1 : foot;
		double to = foot + BAR_HEIGHT > x2 ? x2 : foot + BAR_HEIGHT;

		if (from < to)
			text_printf(out, "M%.1f %.1fL%.1f %.1f", from, BAR_FOOT - (from - foot), to,
			            BAR_FOOT - (to - foot));
	}
}

static void add_tick(struct text *out, double x1, double x2)
{
	double middle = (x1 + x2) / 2;

	text_printf(out, "M%.1f %.1fV%.1f", middle, BAR_TOP - 5, BAR_FOOT + 5);
}

typedef void add_fn(struct text *out, double x1, double x2);

/* Draws each run of places whose steps are in the set. */
static json_t *draw(const struct figure *f, const uint64_t *set, add_fn *add)
{
	const struct line *line = f->line;
	struct text text = TEXT_EMPTY;
	bool any = false;

	for (uint32_t at = 0; at < line->count; at++) {
		uint32_t from = at;

		while (at < line->count && step_set_has(set, line->order[at]) &&
		       (add != add_tick || at == from))
			at++;
		if (at == from)
			continue;
		add(&text, x_of(f, from), x_of(f, at));
		any = true;
		if (add == add_tick)
			at--;
	}
	if (any)
		return json_take_text(&text);
	text_free(&text);
	return json_false();
}

/* Where one section ends and the next begins, in the line's own order. */
static json_t *divisions(const struct figure *f)
{
	struct text text = TEXT_EMPTY;

	for (uint32_t at = 1; at < f->line->count; at++)
		if (f->line->steps[f->line->order[at]].section !=
		    f->line->steps[f->line->order[at - 1]].section)
			text_printf(&text, "M%.1f %.1fV%.1f", x_of(f, at), BAR_TOP, BAR_FOOT);
	return json_take_text(&text);
}

static const char *anchor_of(double x)
{
	return x < 60 ? "start" : x > 280 ? "end" : "middle";
}

static json_t *flag(const struct figure *f)
{
	uint32_t step = f->moment ? f->moment->at : LINE_NO_STEP;
	double x;

	if (step == LINE_NO_STEP)
		return json_false();
	x = x_of(f, f->line->place[step]);
	return json_pack("{s:o, s:o, s:o, s:s, s:s}", "pole",
	                 json_sprintf("M%.1f %.1fV%.1f", x, BAR_FOOT, 4.0), "cloth",
	                 json_sprintf("M%.1f 4L%.1f 9L%.1f 14Z", x, x + (x > 300 ? -14 : 14), x),
	                 "x", json_sprintf("%.1f", x + (x > 280 ? -16 : 18)), "anchor",
	                 x > 280 ? "end" : "start", "label", f->line->steps[step].entry->code.text);
}

static json_t *here(const struct figure *f)
{
	uint32_t step = f->progress->here;
	double x = x_of(f, step == LINE_NO_STEP ? f->line->count : f->line->place[step]);

	return json_pack("{s:o, s:o, s:s, s:s}", "shape",
	                 json_sprintf("M%.1f %.1fl-6 10h12Z", x, BAR_FOOT + 3), "x",
	                 json_sprintf("%.1f", x), "anchor", anchor_of(x), "label",
	                 step == LINE_NO_STEP ? "all built"
	                                      : f->line->steps[step].entry->code.text);
}

static json_t *words(const struct figure *f)
{
	const struct line_progress *progress = f->progress;
	struct text text = TEXT_EMPTY;

	text_printf(&text, "Build line: %u of %u steps built", progress->steps_done,
	            f->line->count);
	if (progress->here != LINE_NO_STEP)
		text_printf(&text, ", your place at %s",
		            f->line->steps[progress->here].entry->code.text);
	if (f->moment && f->moment->at != LINE_NO_STEP)
		text_printf(&text, ", flag at %s: the last good moment",
		            f->line->steps[f->moment->at].entry->code.text);
	text_add(&text, ". Section-lined is what is covered.");
	return json_take_text(&text);
}

static json_t *draw_moment(const struct figure *f, bool opening)
{
	if (!f->moment)
		return json_false();
	return opening ? draw(f, f->moment->open, add_box) : draw(f, f->moment->affected, add_tick);
}

/* What is built and covered by something built. */
static void find_closed(const struct figure *f, uint64_t *closed)
{
	for (uint32_t s = 0; s < f->line->count; s++) {
		const uint64_t *covers = line_row(f->line, f->line->covered_by, s);
		uint64_t any = 0;

		for (uint32_t w = 0; w < f->line->words; w++)
			any |= covers[w] & f->progress->done[w];
		if (any)
			step_set_add(closed, s);
	}
}

json_t *line_figure(const struct line *line, const struct line_progress *progress,
                    const struct moment *moment)
{
	uint64_t closed[LINE_STEPS_MOST / 64 + 1] = {0};
	struct figure f = {line, progress, moment, closed};

	find_closed(&f, closed);
	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "alt", words(&f), "built",
	                 draw(&f, progress->done, add_box), "closed",
	                 draw(&f, closed, add_hatching), "opened", draw_moment(&f, true), "ticks",
	                 draw_moment(&f, false), "divisions", divisions(&f), "flag", flag(&f),
	                 "here", here(&f));
}
