/* forecast_tool.c - forecasts for the comparison with SciPy's regression.
 *
 * Standard input, one case a line: limit, number of entries, (day total) for
 * each. Standard output, one line a case: state, rise a day, day, earliest and
 * latest, "-" where the spread has no such end. A line that begins with "t"
 * asks for Student's t: certainty and degrees of freedom.
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "core/forecast.h"

#define MOST 400

static void print_end(bool has, day_number day)
{
	if (has)
		printf(" %d", day);
	else
		printf(" -");
}

static bool answer_case(long long limit)
{
	static struct use_entry log[MOST];
	struct kit_use use = {.log = log};
	struct forecast f;

	if (scanf("%zu", &use.n_log) != 1 || use.n_log > MOST)
		return false;
	for (size_t i = 0; i < use.n_log; i++) {
		log[i].has[USE_HOURS] = true;
		if (scanf("%d %" SCNd64, &log[i].day, &log[i].total[USE_HOURS]) != 2)
			return false;
	}
	f = forecast_limit(&use, USE_HOURS, limit);
	printf("%d %.9g %d", f.state, f.per_day, f.day);
	print_end(f.has_earliest, f.earliest);
	print_end(f.has_latest, f.latest);
	printf("\n");
	return true;
}

int main(void)
{
	char word[40];

	while (scanf("%39s", word) == 1) {
		double certainty;
		unsigned freedom;
		long long limit;

		if (strcmp(word, "t") == 0) {
			if (scanf("%lf %u", &certainty, &freedom) != 2)
				return 1;
			printf("%.10g\n", forecast_t(certainty, freedom));
		} else if (sscanf(word, "%lld", &limit) != 1 || !answer_case(limit)) {
			return 1;
		}
	}
	return 0;
}
