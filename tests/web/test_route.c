/* The table of routes: what finds what, 404 against 405, faulty tables. */
#include "support.h"

#include <string.h>

#include "web/http/route.h"

static enum status nothing(struct context *c)
{
	(void)c;
	return ST_OK;
}

static const struct route table[] = {
        {HTTP_GET, "/", CALL_ANYONE, nothing, NULL, 0},
        {HTTP_GET, "/kits", CALL_MEMBER, nothing, NULL, 0},
        {HTTP_POST, "/kits", CALL_MEMBER, nothing, NULL, R_WRITES},
        {HTTP_GET, "/kits/{kit}", CALL_KIT_OWNER, nothing, NULL, 0},
        {HTTP_GET, "/kits/{kit}/notices/{notice}", CALL_KIT_OWNER, nothing, NULL, 0},
        {HTTP_POST, "/kits/{kit}/records", CALL_KIT_OWNER, nothing, NULL, R_WRITES},
        {HTTP_GET, "/notices/{notice}", CALL_ANYONE, nothing, NULL, 0},
        {HTTP_GET, "/notices/new", CALL_STEWARD, nothing, NULL, 0},
        {HTTP_GET, "/notices/{notice}/new", CALL_ANYONE, nothing, NULL, 0},
        {HTTP_GET, "/join/{invite:text}", CALL_GUEST, nothing, NULL, 0},
        {HTTP_GET, "/static/{file:rest}", CALL_ANYONE, nothing, NULL, R_BARE},
        {HTTP_POST, "/pictures", CALL_MEMBER, nothing, NULL, R_WRITES | R_UPLOADS},
};
#define ROWS (sizeof table / sizeof table[0])

static struct arena *arena;
static struct router *router;

static int set_up(void **state)
{
	(void)state;
	arena = arena_new();
	return arena && router_new(table, ROWS, &router) == ST_OK ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	router_free(router);
	arena_free(arena);
	return 0;
}

static void test_paths_find_their_rows(void **state)
{
	static const struct {
		enum http_method method;
		const char *path;
		int row; /* -1: no such address; -2: another method */
		const char *allow;
	} rows[] = {
	        {HTTP_GET, "/", 0, NULL},
	        {HTTP_HEAD, "/", 0, NULL},
	        {HTTP_GET, "/kits", 1, NULL},
	        {HTTP_POST, "/kits", 2, NULL},
	        {HTTP_GET, "/kits/7", 3, NULL},
	        {HTTP_GET, "/kits/7/notices/12", 4, NULL},
	        {HTTP_GET, "/notices/5", 6, NULL},
	        {HTTP_GET, "/notices/new", 7, NULL},
	        {HTTP_GET, "/notices/5/new", 8, NULL},
	        {HTTP_GET, "/join/abc", 9, NULL},
	        {HTTP_GET, "/static/a.css", 10, NULL},
	        {HTTP_GET, "/static/a/b.css", 10, NULL},
	        {HTTP_GET, "/kit", -1, NULL},
	        {HTTP_GET, "/kitss", -1, NULL},
	        {HTTP_GET, "/kits/", -1, NULL},
	        {HTTP_GET, "//kits", -1, NULL},
	        {HTTP_GET, "/kits//records", -1, NULL},
	        {HTTP_GET, "/kits/0", -1, NULL},
	        {HTTP_GET, "/kits/-1", -1, NULL},
	        {HTTP_GET, "/kits/07", -1, NULL},
	        {HTTP_GET, "/kits/7x", -1, NULL},
	        {HTTP_GET, "/kits/ 7", -1, NULL},
	        {HTTP_GET, "/kits/9999999999999999999", -1, NULL},
	        {HTTP_GET, "/kits/7/notices", -1, NULL},
	        {HTTP_GET, "/kits/7/notices/12/x", -1, NULL},
	        {HTTP_GET, "/notices/new/new", -1, NULL},
	        {HTTP_GET, "/join", -1, NULL},
	        {HTTP_GET, "/join/", -1, NULL},
	        {HTTP_GET, "/join/a/b", -1, NULL},
	        {HTTP_GET, "/static/", -1, NULL},
	        {HTTP_GET, "/static", -1, NULL},
	        {HTTP_POST, "/", -2, "GET, HEAD"},
	        {HTTP_OTHER, "/kits", -2, "GET, HEAD, POST"},
	        {HTTP_GET, "/kits/7/records", -2, "POST"},
	        {HTTP_HEAD, "/kits/7/records", -2, "POST"},
	        {HTTP_OTHER, "/nowhere", -1, NULL},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct route *found = NULL;
		struct captures captures = {.count = 0};
		const char *allow = NULL;
		enum status status = router_find(router, arena, rows[i].method, rows[i].path,
		                                 &found, &captures, &allow);

		if (rows[i].row >= 0) {
			assert_int_equal(status, ST_OK);
			assert_ptr_equal(found, &table[rows[i].row]);
		} else {
			assert_int_equal(status, rows[i].row == -1 ? ST_MISSING : ST_DENIED);
			assert_null(found);
		}
		if (rows[i].allow)
			assert_string_equal(allow, rows[i].allow);
	}
}

static struct captures captured(const char *path)
{
	const struct route *found = NULL;
	struct captures captures = {.count = 0};
	const char *allow = NULL;

	assert_int_equal(router_find(router, arena, HTTP_GET, path, &found, &captures, &allow),
	                 ST_OK);
	return captures;
}

static void test_captures(void **state)
{
	struct captures ids = captured("/kits/7/notices/123456789012345678");
	struct captures rest = captured("/static/a/b.css");

	(void)state;
	assert_int_equal(ids.count, 2);
	assert_string_equal(ids.at[0].name, "kit");
	assert_int_equal(ids.at[0].id, 7);
	assert_string_equal(ids.at[1].name, "notice");
	assert_int_equal(ids.at[1].id, 123456789012345678);
	assert_int_equal(rest.count, 1);
	assert_string_equal(rest.at[0].name, "file");
	assert_string_equal(rest.at[0].text, "a/b.css");
	assert_int_equal(rest.at[0].id, 0);
	assert_string_equal(captured("/join/a b").at[0].text, "a b");
	assert_int_equal(captured("/kits").count, 0);
}

static void test_faulty_tables_are_refused(void **state)
{
	static const struct route rows[][2] = {
	        {{HTTP_GET, "kits", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/kits/", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "//", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/{}", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/{kit", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/a{kit}", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/{kit:number}", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/{a:rest}/b", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/{a}/{b}/{c}/{d}/{e}", CALL_ANYONE, nothing, NULL, 0}},
	        {{HTTP_GET, "/a", CALL_ANYONE, NULL, NULL, 0}},
	        {{HTTP_GET, "/a", CALL_ANYONE, nothing, NULL, R_WRITES}},
	        {{HTTP_GET, "/a", CALL_ANYONE, nothing, NULL, R_UPLOADS}},
	        {{HTTP_GET, "/a", CALL_ANYONE, nothing, NULL, 0},
	         {HTTP_GET, "/a", CALL_ADMIN, nothing, NULL, 0}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct router *made = NULL;

		assert_int_equal(router_new(rows[i], rows[i][1].pattern ? 2 : 1, &made),
		                 ST_INVALID);
		assert_null(made);
	}
}

static void test_body_limits(void **state)
{
	(void)state;
	assert_int_equal(route_body_limit(NULL), 0);
	assert_int_equal(route_body_limit(&table[1]), 0);
	assert_int_equal(route_body_limit(&table[2]), BODY_FORM);
	assert_int_equal(route_body_limit(&table[11]), BODY_UPLOADS);
}

static bool compile_table(void *context)
{
	struct router *made = NULL;
	bool fine = router_new(table, ROWS, &made) == ST_OK;

	(void)context;
	router_free(made);
	return fine;
}

static void test_running_out_of_memory(void **state)
{
	(void)state;
	try_each_allocation(compile_table, NULL, false);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_paths_find_their_rows),
	        cmocka_unit_test(test_captures),
	        cmocka_unit_test(test_faulty_tables_are_refused),
	        cmocka_unit_test(test_body_limits),
	        cmocka_unit_test(test_running_out_of_memory),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
