/* Declared inputs: every kind with good and bad values, forms as a whole, and
 * what goes back to the page. */
#include "support.h"

#include <string.h>

#include "web/html/input.h"

#define FFFD "\xEF\xBF\xBD"

static struct arena *arena;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	arena_free(arena);
	return 0;
}

static const char *const forces[] = {"mandatory", "recommended", "optional", NULL};

static const struct input inputs[] = {
        {"title", "Title", INPUT_LINE, .required = true, .longest = 10},
        {"problem", "Problem", INPUT_TEXT},
        {"model", "Model", INPUT_NAME},
        {"bought", "Purchased", INPUT_DATE},
        {"day", "Day", INPUT_DAY},
        {"count", "Count", INPUT_NUMBER},
        {"offset", "Offset", INPUT_NUMBER, .min = -5, .max = 5},
        {"hours", "Hours", INPUT_HOURS},
        {"serial", "Serial", INPUT_SERIAL},
        {"statement", "Statement", INPUT_STATEMENT},
        {"force", "Force", INPUT_CHOICE, .choices = forces},
        {"flag", "Flag", INPUT_FLAG},
        {"kit", "Kit", INPUT_ID},
        {"password", "Password", INPUT_PASSWORD},
        {"invite", "Invite", INPUT_TOKEN},
        {"file", "File", INPUT_FILE, .longest = 8},
        {"part", "Part", INPUT_NAME, .repeated = true},
        {"lot", "Lot", INPUT_SERIAL, .repeated = true},
        INPUTS_END,
};

static const struct http_uploads no_files;

static struct form *read_fields(const char *encoded, size_t len)
{
	struct http_fields fields = {NULL, 0};
	struct form *form = NULL;
	const char *unknown = NULL;

	assert_int_equal(http_urlencoded(arena, encoded, len, &fields), ST_OK);
	assert_int_equal(form_read(arena, inputs, &fields, &no_files, &form, &unknown), ST_OK);
	return form;
}

/* A form with a title and one more field. */
static struct form *read_one(const char *name, const char *encoded)
{
	const char *all = arena_printf(arena, "title=x&%s=%s", name, encoded);

	return read_fields(all, strlen(all));
}

#define LONG50 "12345678901234567890123456789012345678901234567890"

static void test_values_that_are_taken(void **state)
{
	static const struct {
		const char *name, *encoded, *text;
		int64_t number;
	} rows[] = {
	        {"title", "+a+b%09", "a b", 0},
	        {"problem", "a%0D%0Ab%0Dc%0Ad%0D%0A", "a\nb\nc\nd", 0},
	        {"model", "Whimbrel+T", "Whimbrel T", 0},
	        {"bought", "2017", "2017", 0},
	        {"bought", "2017-09", "2017-09", 0},
	        {"bought", "2017-09-24", "2017-09-24", 0},
	        {"day", "2016-02-29", "2016-02-29", 0},
	        {"count", "0", "0", 0},
	        {"count", "0012", "0012", 12},
	        {"count", "999999999999999", "999999999999999", 999999999999999},
	        {"offset", "-5", "-5", -5},
	        {"offset", "5", "5", 5},
	        {"hours", "120", "120", 12000},
	        {"hours", "120.5", "120.5", 12050},
	        {"hours", "120.25", "120.25", 12025},
	        {"hours", "0.01", "0.01", 1},
	        {"serial", "WH-0101", "WH-0101", 0},
	        {"statement", "model+Whimbrel", "model Whimbrel", 0},
	        {"force", "optional", "optional", 0},
	        {"flag", "yes", "yes", 1},
	        {"kit", "7", "7", 7},
	        {"password", "+spaces+count+", " spaces count ", 0},
	        {"invite", "0123456789012345678901234567890123456789012",
	         "0123456789012345678901234567890123456789012", 0},
	        {"part", "WH-2207-1", "WH-2207-1", 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const char *name = rows[i].name;
		bool title = strcmp(name, "title") == 0;
		const char *all = arena_printf(arena, "%s%s=%s", title ? "" : "title=x&", name,
		                               rows[i].encoded);
		struct form *form = read_fields(all, strlen(all));

		if (!form_ok(form))
			print_error("%s: %s\n", all, form_value(form, name, 0)->error);
		assert_true(form_ok(form));
		assert_true(form_given(form, name));
		assert_string_equal(form_text(form, name), rows[i].text);
		assert_int_equal(form_number(form, name), rows[i].number);
	}
}

static void test_values_that_are_refused(void **state)
{
	static const struct {
		const char *name, *encoded, *error;
	} rows[] = {
	        {"problem", "a%00b", "Problem holds a control character"},
	        {"problem", "a%1Bb", "Problem holds a control character"},
	        {"problem", "%C0%AF", "Problem holds bytes that are not valid UTF-8 text"},
	        {"problem", "%ED%A0%80", "Problem holds bytes that are not valid UTF-8 text"},
	        {"problem", "a%E2%80%AEb",
	         "Problem holds a hidden mark that turns the direction of text"},
	        {"model", "a%0Ab", "Model must be one line"},
	        {"model", LONG50 LONG50, "Model is longer than 80 characters"},
	        {"bought", "2017-13",
	         "Purchased must be a date such as 2017, 2017-09 or 2017-09-24"},
	        {"bought", "2017-02-30",
	         "Purchased must be a date such as 2017, 2017-09 or 2017-09-24"},
	        {"bought", "24.29.2017",
	         "Purchased must be a date such as 2017, 2017-09 or 2017-09-24"},
	        {"day", "2017-09", "Day must be a whole date such as 2017-09-24"},
	        {"day", "soon", "Day must be a whole date such as 2017-09-24"},
	        {"count", "-1", "Count must not be below 0"},
	        {"count", "1.5", "Count must be a whole number"},
	        {"count", "1e3", "Count must be a whole number"},
	        {"count", "0x10", "Count must be a whole number"},
	        {"count", "-", "Count must be a whole number"},
	        {"count", "--1", "Count must be a whole number"},
	        {"count", "1+2", "Count must be a whole number"},
	        {"count", "9999999999999999999", "Count must be a whole number"},
	        {"offset", "6", "Offset must be from -5 to 5"},
	        {"offset", "-6", "Offset must be from -5 to 5"},
	        {"hours", "1.255", "Hours must be a number of hours such as 120 or 120.25"},
	        {"hours", "1.", "Hours must be a number of hours such as 120 or 120.25"},
	        {"hours", ".5", "Hours must be a number of hours such as 120 or 120.25"},
	        {"hours", "1,5", "Hours must be a number of hours such as 120 or 120.25"},
	        {"hours", "-1", "Hours must not be below 0"},
	        {"serial", "---", "Serial has no digit"},
	        {"serial", "%3F", "Serial has no digit"},
	        {"serial", "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA-1", NULL}, /* 41 bytes */
	        {"statement", "model", NULL},
	        {"force", "Mandatory", "Force is not one of those on offer"},
	        {"force", "none", "Force is not one of those on offer"},
	        {"flag", "no", "Flag must be ticked or left alone"},
	        {"kit", "0", "Kit is not one of those on offer"},
	        {"kit", "x", "Kit is not one of those on offer"},
	        {"kit", "-4", "Kit is not one of those on offer"},
	        {"invite", "short", "Invite is incomplete"},
	        {"file", "text", "File must be a file"},
	        {"file", "", "File must be a file"},
	        {"file", "+", "File must be a file"},
	        {"title", "y", "Title was sent more than once"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct form *form = read_one(rows[i].name, rows[i].encoded);
		const struct form_value *value = form_value(form, rows[i].name, 0);

		if (form_ok(form))
			print_error("%s=%s was taken\n", rows[i].name, rows[i].encoded);
		assert_false(form_ok(form));
		assert_non_null(value->error);
		if (rows[i].error)
			assert_string_equal(value->error, rows[i].error);
		assert_false(value->given);
		assert_int_equal(value->number, 0);
	}
}

static void test_what_is_missing_or_blank(void **state)
{
	struct form *form = read_fields("title=+%0A+&count=&flag=", 24);

	(void)state;
	assert_false(form_ok(form));
	assert_string_equal(form_value(form, "title", 0)->error, "Title is needed");
	assert_null(form_value(form, "count", 0)->error);
	assert_false(form_given(form, "count"));
	assert_false(form_flag(form, "flag"));
	assert_int_equal(form_choice(form, "force"), -1);
	assert_int_equal(form_date(form, "bought").state, DATE_UNKNOWN);
	assert_null(form_file(form, "file"));
	assert_int_equal(form_count(form, "part"), 0);
	assert_string_equal(form_text(form, "problem"), "");
	assert_false(form_ok(read_fields("", 0)));
}

static void test_length_counts_characters(void **state)
{
	/* ten letters of two bytes each; the limit is ten */
	static const char ten[] =
	        "title=%C3%A9%C3%A9%C3%A9%C3%A9%C3%A9%C3%A9%C3%A9%C3%A9%C3%A9%C3%A9";
	const char *eleven = arena_printf(arena, "%sx", ten);

	(void)state;
	assert_true(form_ok(read_fields(ten, strlen(ten))));
	assert_string_equal(form_value(read_fields(eleven, strlen(eleven)), "title", 0)->error,
	                    "Title is longer than 10 characters");
}

static void test_typed_values(void **state)
{
	static const char sent[] =
	        "title=x&model=whimbrel++t&bought=2017-09&day=1970-01-02&serial=WH-9"
	        "&force=recommended&statement=all&flag=yes";
	struct form *form = read_fields(sent, sizeof sent - 1);
	struct name model = form_name(form, "model");

	(void)state;
	assert_true(form_ok(form));
	assert_string_equal(model.key, "WHIMBREL T");
	assert_int_equal(form_date(form, "bought").state, DATE_KNOWN);
	assert_int_equal(form_date(form, "bought").date.precision, DATE_MONTH);
	assert_int_equal(form_day(form, "day"), 1);
	assert_int_equal(form_value(form, "serial", 0)->serial.counter[0], 9);
	assert_int_equal(form_choice(form, "force"), 1);
	assert_non_null(form_value(form, "statement", 0)->statement);
	assert_true(form_flag(form, "flag"));
}

static void test_a_statement_error_names_its_place(void **state)
{
	struct form *form = read_one("statement", "%0D%0Amodel+Whimbrel%0D%0Acolour+red");
	const struct form_value *value = form_value(form, "statement", 0);

	(void)state;
	assert_int_equal(value->fault.line, 3);
	assert_int_equal(value->fault.column, 1);
	assert_memory_equal(value->error, "Statement, line 3, column 1: expected ", 38);
}

static void test_repeated_values_keep_their_rows(void **state)
{
	static const char sent[] = "title=x&part=A-1&lot=3&part=&lot=&part=B-2&lot=--";
	struct form *form = read_fields(sent, sizeof sent - 1);

	(void)state;
	assert_false(form_ok(form));
	assert_int_equal(form_count(form, "part"), 3);
	assert_string_equal(form_value(form, "part", 0)->text, "A-1");
	assert_false(form_value(form, "part", 1)->given);
	assert_string_equal(form_value(form, "part", 2)->text, "B-2");
	assert_null(form_value(form, "lot", 1)->error);
	assert_non_null(form_value(form, "lot", 2)->error);
	assert_false(form_value(form, "part", 99)->given);
}

static void test_unknown_fields_are_refused(void **state)
{
	static const char *const sent[] = {"colour=red", "title=x&Title=y", "title=x&=1",
	                                   "title=x&part%5B%5D=1"};

	(void)state;
	for (size_t i = 0; i < sizeof sent / sizeof sent[0]; i++) {
		struct http_fields fields = {NULL, 0};
		struct form *form = NULL;
		const char *unknown = NULL;

		assert_int_equal(http_urlencoded(arena, sent[i], strlen(sent[i]), &fields), ST_OK);
		assert_int_equal(form_read(arena, inputs, &fields, &no_files, &form, &unknown),
		                 ST_INVALID);
		assert_null(form);
		assert_non_null(unknown);
		assert_int_equal(form_read(arena, inputs, &fields, &no_files, &form, NULL), ST_OK);
	}
}

static enum status read_file_named(const char *name, size_t len, struct form **form)
{
	struct http_field title = {"title", "x", 1};
	struct http_upload *upload = ARENA_NEW(arena, struct http_upload);
	const char *unknown = NULL;

	*upload = (struct http_upload){name, "a.pdf", "%PDF-1.7 and more", len};
	return form_read(arena, inputs, &(struct http_fields){&title, 1},
	                 &(struct http_uploads){upload, 1}, form, &unknown);
}

static void test_files(void **state)
{
	struct form *form = NULL;

	(void)state;
	assert_int_equal(read_file_named("file", 8, &form), ST_OK);
	assert_true(form_ok(form));
	assert_string_equal(form_file(form, "file")->filename, "a.pdf");
	assert_int_equal(read_file_named("file", 9, &form), ST_OK);
	assert_false(form_ok(form));
	assert_null(form_file(form, "file"));
	assert_int_equal(read_file_named("file", 0, &form), ST_OK);
	assert_false(form_ok(form));
	assert_int_equal(read_file_named("title", 3, &form), ST_INVALID);
	assert_int_equal(read_file_named("other", 3, &form), ST_INVALID);
}

static const char *member_text(const json_t *view, const char *input, const char *key)
{
	return json_string_value(json_object_get(json_object_get(view, input), key));
}

static void test_the_form_comes_back_as_typed(void **state)
{
	static const char sent[] = "title=%22%3E%3Cscript%3E&problem=+a%00%E2%80%AEb%FF%C3%0D%0A"
	                           "&count=many&force=optional&password=hunter22&flag=yes";
	struct form *form = read_fields(sent, sizeof sent - 1);
	json_t *view = form_view(form);
	json_t *options = json_object_get(json_object_get(view, "force"), "options");

	(void)state;
	assert_non_null(view);
	assert_true(json_is_true(json_object_get(view, "failed")));
	assert_string_equal(member_text(view, "title", "value"), "\"><script>");
	assert_string_equal(member_text(view, "problem", "value"),
	                    " a" FFFD FFFD "b" FFFD FFFD "\r\n");
	assert_string_equal(member_text(view, "count", "value"), "many");
	assert_string_equal(member_text(view, "count", "error"), "Count must be a whole number");
	assert_string_equal(member_text(view, "password", "value"), "");
	assert_true(json_is_false(json_object_get(json_object_get(view, "title"), "error")));
	assert_true(json_is_true(json_object_get(json_object_get(view, "flag"), "ticked")));
	assert_int_equal(json_array_size(options), 4);
	assert_true(json_is_true(json_object_get(json_array_get(options, 3), "selected")));
	assert_int_equal(json_array_size(json_object_get(view, "errors")), 2);
	json_decref(view);
}

static void test_rows_come_back_together(void **state)
{
	static const char *const names[] = {"part", "lot", NULL};
	static const char sent[] = "title=x&part=A-1&part=B-2&lot=3";
	struct form *form = read_fields(sent, sizeof sent - 1);
	json_t *rows = form_rows_view(form, names, 1);

	(void)state;
	assert_int_equal(json_array_size(rows), 3);
	assert_string_equal(member_text(json_array_get(rows, 1), "part", "value"), "B-2");
	assert_string_equal(member_text(json_array_get(rows, 1), "part", "id"), "part-2");
	assert_string_equal(member_text(json_array_get(rows, 1), "lot", "value"), "");
	assert_string_equal(member_text(json_array_get(rows, 2), "part", "value"), "");
	json_decref(rows);
}

static void test_handlers_add_faults(void **state)
{
	struct form *form = read_fields("title=x&part=A&part=B", 21);
	json_t *view;
	json_t *errors;

	(void)state;
	assert_true(form_ok(form));
	form_fail(form, "title", "is taken by %s", "another");
	form_fail_row(form, "part", 1, "comes twice");
	form_fail(form, "", "Somebody was quicker");
	form_fail(form, "title", "a second fault");
	assert_false(form_ok(form));
	assert_false(form_given(form, "title"));
	view = form_view(form);
	errors = json_object_get(view, "errors");
	assert_int_equal(json_array_size(errors), 3);
	assert_string_equal(json_string_value(json_object_get(json_array_get(errors, 0), "anchor")),
	                    "form");
	assert_string_equal(json_string_value(json_object_get(json_array_get(errors, 1), "words")),
	                    "Title is taken by another");
	assert_string_equal(json_string_value(json_object_get(json_array_get(errors, 2), "anchor")),
	                    "part-2");
	json_decref(view);
}

static void test_a_form_is_filled_in_for_showing(void **state)
{
	struct form *form = form_blank(arena, inputs);
	struct date_fact month = {DATE_KNOWN, {0}};
	json_t *view;

	(void)state;
	assert_int_equal(date_parse("2017-09", 7, &month.date), ST_OK);
	form_set(form, "title", "Bushing");
	form_set_number(form, "count", -3);
	form_set_hours(form, "hours", 12050);
	form_set_date(form, "bought", &month);
	form_set_flag(form, "flag", true);
	form_set(form, "part", "A");
	form_set(form, "part", "B");
	assert_true(form_ok(form));
	view = form_view(form);
	assert_string_equal(member_text(view, "title", "value"), "Bushing");
	assert_string_equal(member_text(view, "count", "value"), "-3");
	assert_string_equal(member_text(view, "hours", "value"), "120.5");
	assert_string_equal(member_text(view, "bought", "value"), "2017-09");
	assert_true(json_is_true(json_object_get(json_object_get(view, "flag"), "ticked")));
	assert_int_equal(json_array_size(json_object_get(view, "part")), 2);
	json_decref(view);
}

/* Hours as text and back, against plain arithmetic. */
static void test_hours_survive_the_round_trip(void **state)
{
	uint64_t seed = 3;

	(void)state;
	for (int i = 0; i < 2000; i++) {
		int64_t hours = (int64_t)(next_random(&seed) % 10000000);
		struct form *form = form_blank(arena, inputs);
		const char *typed;

		form_set_hours(form, "hours", hours);
		typed = form_value(form, "hours", 0)->typed;
		assert_int_equal(form_number(read_one("hours", typed), "hours"), hours);
		arena_reset(arena);
	}
}

static bool read_a_form(void *context)
{
	static const char sent[] = "title=x&problem=a%0D%0Ab&model=W&serial=W-1&statement=all"
	                           "&part=A&part=B&count=x";
	struct arena *own = arena_new();
	struct http_fields fields = {NULL, 0};
	struct form *form = NULL;
	const char *unknown = NULL;
	bool fine = own && http_urlencoded(own, sent, sizeof sent - 1, &fields) == ST_OK &&
	            form_read(own, inputs, &fields, &no_files, &form, &unknown) == ST_OK;

	(void)context;
	if (fine) {
		json_t *view = form_view(form);

		fine = view != NULL;
		json_decref(view);
	}
	arena_free(own);
	return fine;
}

static void test_running_out_of_memory(void **state)
{
	(void)state;
	try_each_allocation(read_a_form, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_values_that_are_taken),
	        cmocka_unit_test(test_values_that_are_refused),
	        cmocka_unit_test(test_what_is_missing_or_blank),
	        cmocka_unit_test(test_length_counts_characters),
	        cmocka_unit_test(test_typed_values),
	        cmocka_unit_test(test_a_statement_error_names_its_place),
	        cmocka_unit_test(test_repeated_values_keep_their_rows),
	        cmocka_unit_test(test_unknown_fields_are_refused),
	        cmocka_unit_test(test_files),
	        cmocka_unit_test(test_the_form_comes_back_as_typed),
	        cmocka_unit_test(test_rows_come_back_together),
	        cmocka_unit_test(test_handlers_add_faults),
	        cmocka_unit_test(test_a_form_is_filled_in_for_showing),
	        cmocka_unit_test(test_hours_survive_the_round_trip),
	        cmocka_unit_test(test_running_out_of_memory),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
