/* drawing.c - lays out dimension lines, in units of a figure 340 wide.
 *
 * A scale runs from the least to the greatest end of all ranges of its kind
 * in the statement, the kit's own place included, and is mapped to X_FIRST ..
 * X_LAST; what is open runs on to the edge. From above: one row for each
 * range, the base line that the extension lines rise from, the kit's mark.
 */
#include "web/html/drawing.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "core/quantity.h"
#include "formats/json_text.h"
#include "web/html/present.h"

#define X_LEFT 6
#define X_FIRST 40
#define X_LAST 300
#define X_RIGHT 334
#define ROW 34           /* height of one dimension line with its words */
#define LINE_IN_ROW 25   /* its line, from the top of the row */
#define LABEL_IN_ROW 17  /* the foot of its words */
#define LETTER 9         /* width of a letter */
#define LABEL_LETTERS 36 /* longer words are cut */
#define NARROW 34        /* narrower lines have their arrows outside */
#define MARK_ROOM 26     /* height of the kit's mark below the base line */

/* What is measured on a scale: dates and counts need no shape. */
struct span {
	double first, last; /* infinite where open */
	const struct name *shape;
	bool uneven; /* values are in order, distances are not true */
};

struct scale {
	double first, last;
};

/* Where the kit is. */
struct place {
	double first, last;
	bool known;
};

struct drawing {
	const struct effectivity *statement;
	const struct facts *facts; /* NULL: no kit */
};

static bool draws_serials(const struct condition *condition)
{
	return condition->kind == COND_SERIAL ||
	       (condition->kind == COND_PART && condition->detail != PART_ANY);
}

static bool draws_dates(const struct condition *condition)
{
	return condition->kind == COND_PURCHASED || condition->kind == COND_PLANS ||
	       condition->kind == COND_FIRST_FLIGHT || condition->kind == COND_SHIPPED;
}

static bool draws_numbers(const struct condition *condition)
{
	return condition->kind == COND_HOURS || condition->kind == COND_LANDINGS;
}

static bool is_drawn(const struct condition *condition)
{
	return draws_serials(condition) || draws_dates(condition) || draws_numbers(condition);
}

/* Keeps the order of serials: further counters shrink into a part of one. */
static double serial_value(const struct serial *serial)
{
	double value = (double)serial->counter[0];

	if (serial->counters > 1) {
		double rest = (double)serial->counter[1];

		value += rest / (rest + 1000.0);
	}
	return value;
}

static struct span serial_span(const struct serial_range *range)
{
	const struct serial *any = range->first.text ? &range->first : &range->last;

	return (struct span){
	        .first = range->first.text ? serial_value(&range->first) : -INFINITY,
	        .last = range->last.text ? serial_value(&range->last) : INFINITY,
	        .shape = &any->shape,
	        .uneven = any->counters > 1,
	};
}

static struct span date_span(const struct date_span *dates)
{
	return (struct span){
	        .first = dates->days.first == DAY_FIRST ? -INFINITY : dates->days.first,
	        .last = dates->days.last == DAY_LAST ? INFINITY : dates->days.last,
	};
}

static struct span number_span(const struct number_span *numbers)
{
	return (struct span){
	        .first = numbers->first == INT64_MIN ? -INFINITY : (double)numbers->first,
	        .last = numbers->last == INT64_MAX ? INFINITY : (double)numbers->last,
	};
}

static struct span span_of(const struct drawing *d, const struct condition *condition, uint32_t i)
{
	uint32_t at = condition->range + i;

	if (draws_serials(condition))
		return serial_span(&d->statement->serials[at]);
	if (draws_dates(condition))
		return date_span(&d->statement->dates[at]);
	return number_span(&d->statement->numbers[at]);
}

static bool same_shape(const struct name *a, const struct name *b)
{
	return (!a && !b) || (a && b && name_same(a, b));
}

/* ---- words of a range ---- */

static void add_date(const struct date *date, struct text *out)
{
	char iso[DATE_TEXT_SIZE];

	date_print(*date, iso);
	text_add(out, iso);
}

static void add_end(const struct drawing *d, const struct condition *condition, uint32_t at,
                    bool first, struct text *out)
{
	if (draws_serials(condition)) {
		const struct serial_range *range = &d->statement->serials[at];

		text_add(out, first && range->first.text ? range->first.text : range->last.text);
	} else if (draws_dates(condition)) {
		const struct date_span *dates = &d->statement->dates[at];

		add_date(first ? &dates->from : &dates->to, out);
	} else {
		const struct number_span *numbers = &d->statement->numbers[at];
		int64_t number = first ? numbers->from : numbers->to;

		if (condition->kind == COND_HOURS)
			hours_print(number, out);
		else
			text_printf(out, "%lld", (long long)number);
	}
}

static enum range_form serial_form(const struct serial_range *range)
{
	if (!range->first.text)
		return RANGE_UP_TO;
	if (!range->last.text)
		return RANGE_AND_ON;
	return serial_compare(&range->first, &range->last) == 0 ? RANGE_ONE : RANGE_THRU;
}

static enum range_form form_of(const struct drawing *d, const struct condition *condition,
                               uint32_t at)
{
	if (draws_serials(condition))
		return serial_form(&d->statement->serials[at]);
	if (draws_dates(condition))
		return d->statement->dates[at].form;
	return d->statement->numbers[at].form;
}

static void range_words(const struct drawing *d, const struct condition *condition, uint32_t i,
                        struct text *out)
{
	static const struct {
		const char *before, *between, *after;
		bool both; /* ends are named */
	} forms[] = {
	        [RANGE_ONE] = {"", "", "", false},
	        [RANGE_THRU] = {"", " thru ", "", true},
	        [RANGE_AND_ON] = {"", "", " and on", false},
	        [RANGE_UP_TO] = {"up to ", "", "", false},
	        [RANGE_BEFORE] = {"before ", "", "", false},
	        [RANGE_AFTER] = {"after ", "", "", false},
	};
	uint32_t at = condition->range + i;
	enum range_form form = form_of(d, condition, at);

	text_add(out, condition->negated ? "not " : "");
	text_add(out, forms[form].before);
	add_end(d, condition, at, true, out);
	text_add(out, forms[form].between);
	if (forms[form].both)
		add_end(d, condition, at, false, out);
	text_add(out, forms[form].after);
}

/* ---- where the kit is ---- */

static struct place serial_place(const struct serial *serial, const struct name *shape)
{
	double value = serial_value(serial);

	return (struct place){value, value, name_same(&serial->shape, shape)};
}

static bool pattern_takes(const struct name_pattern *pattern, const struct name *name)
{
	return (pattern->series ? name_in_series(&pattern->name, name)
	                        : name_like(&pattern->name, name)) == TRUTH_TRUE;
}

static bool names_part(const struct drawing *d, const struct condition *condition,
                       const struct part_fact *part)
{
	for (uint32_t i = 0; i < condition->names; i++)
		if (pattern_takes(&d->statement->names[condition->name + i], &part->number))
			return true;
	return false;
}

/* The first fitted part of that number whose serial or lot is known. */
static struct place part_place(const struct drawing *d, const struct condition *condition,
                               const struct name *shape)
{
	bool lot = condition->detail == PART_LOT;

	for (size_t i = 0; i < d->facts->n_parts; i++) {
		const struct part_fact *part = &d->facts->parts[i];

		if (names_part(d, condition, part) && (lot ? part->has_lot : part->has_serial))
			return serial_place(lot ? &part->lot : &part->serial, shape);
	}
	return (struct place){.known = false};
}

static const struct date_fact *date_of_kit(const struct drawing *d,
                                           const struct condition *condition)
{
	const struct subkit_fact *subkit;

	switch ((enum condition_kind)condition->kind) {
	case COND_PURCHASED:
		return &d->facts->purchased;
	case COND_PLANS:
		return &d->facts->plans;
	case COND_FIRST_FLIGHT:
		return &d->facts->first_flight;
	case COND_SHIPPED:
		subkit = facts_subkit(d->facts, &d->statement->names[condition->name].name);
		return subkit ? &subkit->shipped : NULL;
	case COND_ALL:
	case COND_MODEL:
	case COND_SERIAL:
	case COND_SUBKIT:
	case COND_OPTION:
	case COND_PART:
	case COND_NOTICE:
	case COND_STEP:
	case COND_HOURS:
	case COND_LANDINGS:
		break; /* not about dates */
	}
	return NULL;
}

static struct place date_place(const struct date_fact *fact)
{
	if (!fact || fact->state != DATE_KNOWN)
		return (struct place){.known = false};
	return (struct place){fact->date.first, fact->date.last, true};
}

static struct place number_place(const struct facts *facts, enum condition_kind kind)
{
	double value = (double)(kind == COND_HOURS ? facts->hours : facts->landings);

	return (struct place){value, value,
	                      kind == COND_HOURS ? facts->has_hours : facts->has_landings};
}

static struct place place_of_kit(const struct drawing *d, const struct condition *condition,
                                 const struct name *shape)
{
	if (!d->facts)
		return (struct place){.known = false};
	if (condition->kind == COND_PART)
		return part_place(d, condition, shape);
	if (condition->kind == COND_SERIAL)
		return d->facts->has_serial ? serial_place(&d->facts->serial, shape)
		                            : (struct place){.known = false};
	if (draws_dates(condition))
		return date_place(date_of_kit(d, condition));
	return number_place(d->facts, condition->kind);
}

/* ---- scales ---- */

static void stretch(struct scale *scale, double value)
{
	if (!isfinite(value))
		return;
	if (value < scale->first)
		scale->first = value;
	if (value > scale->last)
		scale->last = value;
}

/* Of every condition that is measured in the same way. */
static void stretch_over(const struct drawing *d, const struct condition *condition,
                         const struct name *shape, struct scale *scale)
{
	struct place place = place_of_kit(d, condition, shape);

	for (uint32_t i = 0; i < condition->ranges; i++) {
		struct span span = span_of(d, condition, i);

		if (same_shape(span.shape, shape)) {
			stretch(scale, span.first);
			stretch(scale, span.last);
		}
	}
	if (place.known) {
		stretch(scale, place.first);
		stretch(scale, place.last);
	}
}

static bool measured_alike(const struct condition *a, const struct condition *b)
{
	if (draws_dates(a))
		return draws_dates(b);
	return a->kind == b->kind && a->detail == b->detail;
}

static struct scale scale_for(const struct drawing *d, const struct condition *condition,
                              const struct name *shape)
{
	struct scale scale = {INFINITY, -INFINITY};

	for (uint32_t i = 0; i < d->statement->n_conditions; i++)
		if (measured_alike(condition, &d->statement->conditions[i]))
			stretch_over(d, &d->statement->conditions[i], shape, &scale);
	if (scale.last <= scale.first) {
		scale.first -= 1;
		scale.last += 1;
	}
	return scale;
}

static int x_of(const struct scale *scale, double value)
{
	double part;

	if (!isfinite(value))
		return value < 0 ? X_LEFT : X_RIGHT;
	part = (value - scale->first) / (scale->last - scale->first);
	return X_FIRST + (int)lround(part * (X_LAST - X_FIRST));
}

/* ---- figures ---- */

static json_t *line_view(int x1, int x2, int y)
{
	return json_pack("{s:i, s:i, s:i}", "x1", x1, "x2", x2, "y", y);
}

static json_t *upright(int x, int y1, int y2)
{
	return json_pack("{s:i, s:i, s:i}", "x", x, "y1", y1, "y2", y2);
}

/* An arrow head with its tip at x; to the right or to the left. */
static json_t *arrow(int x, int y, bool right, bool out)
{
	return json_pack("{s:o, s:b}", "shape",
	                 json_sprintf("M%d %dl%d-4v8z", x, y, right ? -10 : 10), "out", out);
}

/* Cuts to a length that fits into a figure, and puts it near x. */
static json_t *with_label(json_t *view, const char *words, int x, int y)
{
	size_t len = strlen(words);
	bool cut = len > LABEL_LETTERS;
	double half = (double)(cut ? LABEL_LETTERS : len) * LETTER / 2;
	double at = fmax(X_LEFT + half, fmin(X_RIGHT - half, x));
	json_t *label = json_pack("{s:o, s:i, s:i, s:s}", "label",
	                          cut ? json_sprintf("%.*s...", LABEL_LETTERS - 3, words)
	                              : json_string(words),
	                          "label_x", (int)lround(at), "label_y", y, "anchor", "middle");

	if (view && label && json_object_update(view, label) == 0) {
		json_decref(label);
		return view;
	}
	json_decref(view);
	json_decref(label);
	return NULL;
}

static json_t *arrows_view(const struct span *span, int x1, int x2, int y)
{
	bool narrow = x2 - x1 < NARROW;
	json_t *arrows = json_array();

	if (arrows)
		arrows = present_append(arrows, arrow(x1, y, narrow && isfinite(span->first),
		                                      !isfinite(span->first)));
	if (arrows)
		arrows = present_append(arrows, arrow(x2, y, !narrow || !isfinite(span->last),
		                                      !isfinite(span->last)));
	return arrows;
}

static json_t *span_view(const struct span *span, const struct scale *scale, bool negated, int top,
                         const char *words)
{
	const char *css = negated ? "phantom" : "solid";
	int x1 = x_of(scale, span->first), x2 = x_of(scale, span->last);
	int y = top + LINE_IN_ROW;
	int outside = x2 - x1 < NARROW ? 18 : 0;
	bool single = x1 == x2;
	json_t *line = single ? json_false()
	                      : line_view(isfinite(span->first) ? x1 - outside : x1,
	                                  isfinite(span->last) ? x2 + outside : x2, y);
	json_t *view = json_pack("{s:s, s:o, s:o, s:o}", "css", css, "line", line, "arrows",
	                         single ? json_array() : arrows_view(span, x1, x2, y), "tick",
	                         single ? upright(x1, y - 5, y + 7) : json_false());

	return with_label(view, words, (x1 + x2) / 2, top + LABEL_IN_ROW);
}

static json_t *add_extension(json_t *extensions, const struct scale *scale, double value, int top,
                             int base)
{
	if (!extensions || !isfinite(value))
		return extensions;
	return present_append(extensions, upright(x_of(scale, value), top + LINE_IN_ROW - 6, base));
}

static json_t *kit_words(const struct drawing *d, const struct condition *condition);

/* A whole date or number is one place; a partial date a dashed span. */
static json_t *mark_view(const struct place *place, const struct scale *scale, int base,
                         const char *words)
{
	int x1 = x_of(scale, place->first), x2 = x_of(scale, place->last);
	bool wide = place->last - place->first > 0.5;
	int x = (x1 + x2) / 2;
	json_t *span = json_false(), *mark = json_false();

	if (wide)
		span = json_pack(
		        "{s:o}", "shape",
		        json_sprintf("M%d 2V%dH%dV2", x1, base + 8, x2 > x1 ? x2 : x1 + 2));
	else
		mark = json_pack("{s:i, s:i, s:o}", "x", x, "y", base, "shape",
		                 json_sprintf("M%d %dl-6 9h12z", x, base));
	return with_label(json_pack("{s:o, s:o}", "span", span, "place", mark), words, x,
	                  base + MARK_ROOM - 3);
}

static json_t *marks_view(const struct drawing *d, const struct condition *condition,
                          const struct name *shape, const struct scale *scale, int base)
{
	struct place place = place_of_kit(d, condition, shape);
	json_t *words, *marks = json_array();

	if (!place.known || !marks)
		return marks;
	words = kit_words(d, condition);
	if (!words) {
		json_decref(marks);
		return NULL;
	}
	marks = present_append(marks, mark_view(&place, scale, base, json_string_value(words)));
	json_decref(words);
	return marks;
}

struct figure {
	json_t *spans, *extensions;
	struct text alt;
	unsigned rows;
	bool uneven;
};

static void add_span(const struct drawing *d, const struct condition *condition, uint32_t i,
                     const struct scale *scale, int base, struct figure *figure)
{
	struct span span = span_of(d, condition, i);
	int top = (int)figure->rows * ROW;
	struct text words = TEXT_EMPTY;

	range_words(d, condition, i, &words);
	text_printf(&figure->alt, "%s%s", figure->rows ? "; " : "", text_string(&words));
	if (figure->spans)
		figure->spans =
		        present_append(figure->spans, span_view(&span, scale, condition->negated,
		                                                top, text_string(&words)));
	figure->extensions = add_extension(figure->extensions, scale, span.first, top, base);
	if (span.last > span.first)
		figure->extensions = add_extension(figure->extensions, scale, span.last, top, base);
	figure->alt.failed |= text_failed(&words);
	figure->uneven |= span.uneven;
	figure->rows++;
	text_free(&words);
}

static unsigned rows_of(const struct drawing *d, const struct condition *condition,
                        const struct name *shape)
{
	unsigned rows = 0;

	for (uint32_t i = 0; i < condition->ranges && rows < DRAWING_SPANS; i++)
		rows += same_shape(span_of(d, condition, i).shape, shape);
	return rows;
}

static void end_alt(const struct drawing *d, const struct condition *condition, struct text *alt)
{
	json_t *words;

	if (!d->facts)
		return;
	words = kit_words(d, condition);
	if (words)
		text_printf(alt, ". %s", json_string_value(words));
	alt->failed |= !words;
	json_decref(words);
}

static json_t *figure_view(const struct drawing *d, const struct condition *condition,
                           const struct name *shape)
{
	struct figure figure = {json_array(), json_array(), TEXT_EMPTY, 0, false};
	struct scale scale = scale_for(d, condition, shape);
	unsigned rows = rows_of(d, condition, shape);
	int base = (int)rows * ROW + 8;
	bool marked = place_of_kit(d, condition, shape).known;
	json_t *view = NULL;

	text_add(&figure.alt, "Dimension lines: ");
	for (uint32_t i = 0; i < condition->ranges && figure.rows < rows; i++)
		if (same_shape(span_of(d, condition, i).shape, shape))
			add_span(d, condition, i, &scale, base, &figure);
	end_alt(d, condition, &figure.alt);
	if (!text_failed(&figure.alt))
		view = json_pack("{s:i, s:i, s:s, s:O, s:O, s:o, s:b}", "height",
		                 base + (marked ? MARK_ROOM : 4), "base", base, "alt",
		                 text_string(&figure.alt), "spans", figure.spans, "extensions",
		                 figure.extensions, "marks",
		                 marks_view(d, condition, shape, &scale, base), "uneven",
		                 figure.uneven);
	json_decref(figure.spans);
	json_decref(figure.extensions);
	text_free(&figure.alt);
	return view;
}

/* Is this the first range of its shape in the condition? */
static bool opens_figure(const struct drawing *d, const struct condition *condition, uint32_t i)
{
	const struct name *shape = span_of(d, condition, i).shape;

	for (uint32_t k = 0; k < i; k++)
		if (same_shape(span_of(d, condition, k).shape, shape))
			return false;
	return true;
}

static json_t *figures_view(const struct drawing *d, const struct condition *condition)
{
	json_t *figures = json_array();

	if (!is_drawn(condition))
		return figures;
	for (uint32_t i = 0; figures && i < condition->ranges; i++)
		if (opens_figure(d, condition, i) && json_array_size(figures) < DRAWING_SPANS)
			figures = present_append(
			        figures, figure_view(d, condition, span_of(d, condition, i).shape));
	return figures;
}

/* ---- conditions and groups ---- */

struct kit_words {
	const struct facts *facts;
	struct text out;
};

static void add_fact(void *context, const struct fact *fact)
{
	struct kit_words *words = context;

	text_add(&words->out, words->out.len ? ", " : "This kit: ");
	fact_value(words->facts, fact, &words->out);
}

static json_t *kit_words(const struct drawing *d, const struct condition *condition)
{
	struct kit_words words = {d->facts, TEXT_EMPTY};

	condition_facts(d->statement, condition, d->facts, add_fact, &words);
	return json_take_text(&words.out);
}

static json_t *answer_view(const struct drawing *d, const struct condition *condition)
{
	static const char *const words[] = {"does not hold", "cannot tell", "holds"};
	static const char *const lines[] = {"phantom", "hidden-line", "solid"};
	enum truth answer;

	if (!d->facts)
		return json_false();
	answer = condition_decide(d->statement, condition, d->facts);
	return json_pack("{s:s, s:s, s:s}", "word", words[answer], "line", lines[answer], "css",
	                 "condition");
}

/* What the kit says where no mark can: a value that lies on no scale. */
static json_t *remark_view(const struct drawing *d, const struct condition *condition)
{
	if (!d->facts || condition->kind == COND_ALL)
		return json_false();
	return kit_words(d, condition);
}

static json_t *condition_view(const struct drawing *d, const struct condition *condition)
{
	struct text words = TEXT_EMPTY;

	condition_print(d->statement, condition, &words);
	return json_pack("{s:o, s:o, s:o, s:o}", "words", json_take_text(&words), "answer",
	                 answer_view(d, condition), "figures", figures_view(d, condition), "remark",
	                 remark_view(d, condition));
}

static json_t *group_view(const struct drawing *d, uint32_t at)
{
	const struct condition_group *group = &d->statement->groups[at];
	json_t *conditions = json_array();

	for (uint32_t i = 0; conditions && i < group->conditions; i++)
		conditions = present_append(
		        conditions,
		        condition_view(d, &d->statement->conditions[group->condition + i]));
	return json_pack("{s:b, s:o}", "or", at > 0, "conditions", conditions);
}

json_t *drawing_view(const struct effectivity *statement, const struct facts *facts)
{
	struct drawing d = {statement, facts};
	json_t *groups = json_array();

	for (uint32_t i = 0; groups && i < statement->n_groups; i++)
		groups = present_append(groups, group_view(&d, i));
	return json_pack("{s:o}", "groups", groups);
}
