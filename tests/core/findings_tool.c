/* findings_tool.c - intervals and Fisher's test for the comparison with SciPy.
 *
 * Standard input, one case a line: "f a b c d" asks for the two-sided p of a
 * table, "i k n confidence" for the exact interval. Standard output, one line a
 * case: p, or low and high.
 */
#include <stdio.h>

#include "core/findings.h"

int main(void)
{
	char letter;
	size_t a, b, c, d;
	double confidence;

	while (scanf(" %c", &letter) == 1) {
		if (letter == 'f' && scanf("%zu %zu %zu %zu", &a, &b, &c, &d) == 4) {
			printf("%.15g\n", fisher_two_sided(a, b, c, d));
		} else if (letter == 'i' && scanf("%zu %zu %lf", &a, &b, &confidence) == 3) {
			struct interval interval = findings_interval(a, b, confidence);

			printf("%.15g %.15g\n", interval.low, interval.high);
		} else {
			return 1;
		}
	}
	return 0;
}
