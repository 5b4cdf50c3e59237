/* fuzz_date.c - partial dates.
 *
 * What is taken prints as it was typed, has its days in order, and lies in the
 * range of its own days.
 */
#include "core/date.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t len)
{
	char *text = fuzz_string(bytes, len);
	char printed[DATE_TEXT_SIZE];
	char words[DATE_WORDS_SIZE];
	struct date date;

	if (date_parse(text, len, &date) == ST_OK) {
		struct date_fact fact = {DATE_KNOWN, date};
		struct day_range range = {date.first, date.last};

		date_print(date, printed);
		must(strlen(printed) == len && memcmp(printed, text, len) == 0,
		     "a date prints as typed");
		date_words(date, words);
		must(words[0], "a date has words");
		must(date.first <= date.last, "days are in order");
		must(date_in_range(&fact, range) == TRUTH_TRUE, "a date lies in itself");
	}
	free(text);
	return 0;
}
