/* With x days and y totals, n of them, means X and Y, and residual variance v
 * over n - 2 degrees of freedom, the limit L lies inside the prediction
 * interval at x where
 *
 *     (L - Y - b (x - X))^2  <=  t^2 v (1 + 1/n + (x - X)^2 / Sxx)
 *
 * which is a quadratic in x - X: (b^2 - g) u^2 - 2 b D u + D^2 - h <= 0 with
 * D = L - Y, g = t^2 v / Sxx, h = t^2 v (1 + 1/n). When b^2 <= g the line's rise
 * is lost in its scatter and the interval has no end.
 */
#include "core/forecast.h"

#include <math.h>

/* ---- Student's t ---- */

/* Probability between -t and t: Abramowitz and Stegun, 26.7.3 and 26.7.4. */
static double certainty_of(double t, unsigned freedom)
{
	double angle = atan(t / sqrt((double)freedom));
	double c = cos(angle), term, sum;

	if (freedom % 2) {
		term = sum = freedom > 1 ? c : 0;
		for (unsigned k = 3; k + 2 <= freedom; k += 2)
			sum += term *= c * c * (k - 1) / k;
		return 2 / M_PI * (angle + sin(angle) * sum);
	}
	term = sum = 1;
	for (unsigned k = 2; k + 2 <= freedom; k += 2)
		sum += term *= c * c * (k - 1) / k;
	return sin(angle) * sum;
}

double forecast_t(double certainty, unsigned freedom)
{
	double low = 0, high = 1;

	while (certainty_of(high, freedom) < certainty)
		high *= 2;
	for (unsigned i = 0; i < 60; i++) {
		double middle = (low + high) / 2;

		if (certainty_of(middle, freedom) < certainty)
			low = middle;
		else
			high = middle;
	}
	return high;
}

/* ---- the line ---- */

struct line {
	size_t n;
	double mean_x, mean_y;
	double sxx, sxy, syy;
	double last_x;
};

static struct line line_through(const struct kit_use *use, enum use_counter counter)
{
	struct line line = {.n = 0};

	/* Means and sums are kept up as entries come (B. P. Welford, Technometrics 4, 1962). */
	for (size_t i = 0; i < use->n_log; i++) {
		double x = use->log[i].day, y = (double)use->log[i].total[counter], dx, dy;

		if (!use->log[i].has[counter])
			continue;
		line.n++;
		dx = x - line.mean_x;
		dy = y - line.mean_y;
		line.mean_x += dx / (double)line.n;
		line.mean_y += dy / (double)line.n;
		line.sxx += dx * (x - line.mean_x);
		line.sxy += dx * (y - line.mean_y);
		line.syy += dy * (y - line.mean_y);
		line.last_x = x;
	}
	return line;
}

/* A day that is not too far; false else. */
static bool to_day(const struct line *line, double x, day_number *out)
{
	if (!(fabs(x - line->last_x) <= FORECAST_FAREST))
		return false;
	*out = (day_number)floor(x + 1e-6); /* not a day early by rounding */
	return true;
}

static void find_spread(const struct line *line, double rise, double distance, struct forecast *out)
{
	double freedom = (double)line->n - 2;
	double rest = line->syy - rise * line->sxy;
	double t = forecast_t(FORECAST_CERTAINTY, (unsigned)line->n - 2);
	double v = t * t * (rest > 0 ? rest : 0) / freedom;
	double g = v / line->sxx, h = v * (1 + 1 / (double)line->n);
	double a = rise * rise - g, root;

	if (a <= 0)
		return;
	root = sqrt(fmax(rise * rise * distance * distance - a * (distance * distance - h), 0));
	out->has_earliest =
	        to_day(line, line->mean_x + (rise * distance - root) / a, &out->earliest);
	out->has_latest = to_day(line, line->mean_x + (rise * distance + root) / a, &out->latest);
}

struct forecast forecast_limit(const struct kit_use *use, enum use_counter counter, int64_t limit)
{
	struct line line = line_through(use, counter);
	struct forecast out = {.state = FORECAST_FEW, .entries = line.n};
	double distance = (double)limit - line.mean_y;

	if (line.n < FORECAST_LEAST || line.sxx <= 0)
		return out;
	out.per_day = line.sxy / line.sxx;
	out.state = FORECAST_NO_USE;
	if (out.per_day <= 0)
		return out;
	out.state = FORECAST_FAR;
	if (!to_day(&line, line.mean_x + distance / out.per_day, &out.day))
		return out;
	out.state = FORECAST_TOLD;
	find_spread(&line, out.per_day, distance, &out);
	return out;
}

bool forecast_due(const struct kit_use *use, const struct due_time *due, day_number *day,
                  bool *fixed)
{
	bool found = due->has_day;

	if (found)
		*day = due->day;
	*fixed = found;
	for (unsigned i = 0; i < USE_COUNTERS; i++) {
		struct forecast f = {.state = FORECAST_FEW};

		if (due->has[i])
			f = forecast_limit(use, i, due->total[i]);
		if (f.state != FORECAST_TOLD || (found && f.day >= *day))
			continue;
		*day = f.day;
		*fixed = false;
		found = true;
	}
	return found;
}
