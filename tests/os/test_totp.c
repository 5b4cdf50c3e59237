/* Codes of authenticator programs, against the vectors of the RFCs. */
#include "support.h"

#include <stdio.h>
#include <string.h>

#include "os/random.h"
#include "os/totp.h"

/* RFC 4226 appendix D, RFC 6238 appendix B. */
static const unsigned char secret[] = "12345678901234567890";

/* RFC 4226 appendix D: truncated values in decimal. */
static void numbers_are_those_of_rfc_4226(void **state)
{
	static const uint32_t wanted[] = {1284755224, 1094287082, 137359152, 1726969429, 1640338314,
	                                  868254676,  1918287922, 82162583,  673399871,  645520489};

	(void)state;
	for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
		assert_int_equal(totp_number(secret, TOTP_SECRET_SIZE, i), wanted[i]);
}

/* RFC 6238 appendix B, SHA1: eight digits there, of which a six-digit code is the last six. */
static const struct {
	int64_t time;
	const char *eight;
} rfc_6238[] = {
        {59, "94287082"},         {1111111109, "07081804"}, {1111111111, "14050471"},
        {1234567890, "89005924"}, {2000000000, "69279037"}, {20000000000, "65353130"},
};
#define VECTORS (sizeof rfc_6238 / sizeof rfc_6238[0])

static void codes_are_those_of_rfc_6238(void **state)
{
	(void)state;
	for (size_t i = 0; i < VECTORS; i++) {
		int64_t time = rfc_6238[i].time;
		int64_t step = 0;
		char eight[16];

		snprintf(eight, sizeof eight, "%08u",
		         totp_number(secret, TOTP_SECRET_SIZE, (uint64_t)(time / 30)) % 100000000);
		assert_string_equal(eight, rfc_6238[i].eight);
		assert_true(totp_fits(secret, rfc_6238[i].eight + 2, time, &step));
		assert_int_equal(step, time / 30);
	}
}

/* One step to either side is let pass (RFC 6238 section 5.2 and 6). */
static void clocks_may_differ_by_a_step(void **state)
{
	static const struct {
		int64_t off;
		bool fits;
	} rows[] = {{-90, false}, {-60, false}, {-31, false}, {-30, true}, {0, true},
	            {29, true},   {30, true},   {59, true},   {60, false}, {86400, false}};
	const int64_t begins = 1111111110; /* of a step */

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int64_t step = -1;

		assert_int_equal(totp_fits(secret, "050471", begins + rows[i].off, &step),
		                 rows[i].fits);
		assert_int_equal(step, rows[i].fits ? begins / 30 : -1);
	}
}

static void other_texts_do_not_fit(void **state)
{
	static const char *const rows[] = {"",      "05047",  "0504711", " 050471",  "050471 ",
	                                   "50471", "+50471", "050472",  "14050471", "abcdef"};
	int64_t step = -1;

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_false(totp_fits(secret, rows[i], 1111111111, &step));
	assert_false(totp_fits((const unsigned char *)"12345678901234567891", "050471", 1111111111,
	                       &step));
	assert_false(totp_fits(secret, "755224", 0, &step)); /* no time before there was one */
	assert_int_equal(step, -1);
}

/* RFC 4648 section 10, without the padding. */
static void base32_is_that_of_rfc_4648(void **state)
{
	static const char *const rows[][2] = {{"", ""},
	                                      {"f", "MY"},
	                                      {"fo", "MZXQ"},
	                                      {"foo", "MZXW6"},
	                                      {"foob", "MZXW6YQ"},
	                                      {"fooba", "MZXW6YTB"},
	                                      {"foobar", "MZXW6YTBOI"}};
	char out[BASE32_SIZE(20)];

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		base32_print((const unsigned char *)rows[i][0], strlen(rows[i][0]), out);
		assert_string_equal(out, rows[i][1]);
	}
	base32_print(secret, 20, out);
	assert_int_equal(strlen(out), 32);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(numbers_are_those_of_rfc_4226),
	        cmocka_unit_test(codes_are_those_of_rfc_6238),
	        cmocka_unit_test(clocks_may_differ_by_a_step),
	        cmocka_unit_test(other_texts_do_not_fit),
	        cmocka_unit_test(base32_is_that_of_rfc_4648),
	};

	if (random_start() != ST_OK)
		return 1;
	return cmocka_run_group_tests(tests, NULL, NULL);
}
