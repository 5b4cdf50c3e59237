/* test_kept_page.c - a kept page is handed out under its own dress only, and
 * the list of a kit follows all that it shows besides the kit.
 */
#include <stdio.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "store/members.h"
#include "store/settings.h"
#include "web/http/kept_page.h"

/* ---- the page alone ---- */

static json_t *dress_of(const char *token, const char *chapter)
{
	return json_pack("{s:s, s:s, s:{s:b}}", "token", token, "chapter", chapter, "member",
	                 "steward", 0);
}

static void put(struct kept_page *kept, json_t *dress, const char *body)
{
	struct response page = {.body = body, .len = strlen(body)};

	kept_page_put(kept, dress, &page);
	json_decref(dress);
}

/* The body found under that dress, "" when none. */
static const char *found(struct kept_page *kept, struct arena *arena, json_t *dress)
{
	struct response page = {.body = "", .etag = NULL};
	bool is = kept_page_find(kept, dress, arena, &page);

	json_decref(dress);
	assert_true(is == (page.etag != NULL));
	assert_int_equal(strlen(page.body), page.len);
	return page.body;
}

static void test_only_its_own_dress_finds_it(void **state)
{
	struct kept_page *kept = kept_page_new();
	struct arena *arena = arena_new();

	(void)state;
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "");
	put(kept, dress_of("a", "Hill"), "first");
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "first");
	assert_string_equal(found(kept, arena, dress_of("b", "Hill")), "");
	assert_string_equal(found(kept, arena, dress_of("a", "")), "");
	assert_string_equal(found(kept, arena, json_object()), "");
	arena_free(arena);
	kept_page_free(kept);
}

static void test_a_later_page_takes_its_place(void **state)
{
	struct kept_page *kept = kept_page_new();
	struct arena *arena = arena_new();
	const char *first;

	(void)state;
	put(kept, dress_of("a", "Hill"), "first");
	first = found(kept, arena, dress_of("a", "Hill"));
	put(kept, dress_of("b", "Hill"), "second");
	assert_string_equal(first, "first"); /* a copy of the finder's own */
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "");
	assert_string_equal(found(kept, arena, dress_of("b", "Hill")), "second");
	put(kept, dress_of("b", "Hill"), "third");
	assert_string_equal(found(kept, arena, dress_of("b", "Hill")), "third");
	arena_free(arena);
	kept_page_free(kept);
}

/* Too little memory keeps nothing, or what was there: never a part. */
static bool keep_one(void *context)
{
	struct kept_page *kept = kept_page_new();
	struct arena *arena = arena_new();
	bool kept_it = false;

	if (kept && arena) {
		const char *body;

		kept_page_put(kept, context,
		              &(struct response){.body = "whole", .len = strlen("whole")});
		body = found(kept, arena, json_incref(context));
		kept_it = strcmp(body, "whole") == 0;
		assert_true(kept_it || *body == '\0');
	}
	arena_free(arena);
	kept_page_free(kept);
	return kept_it;
}

static void test_lack_of_memory_keeps_nothing(void **state)
{
	json_t *dress = dress_of("a", "Hill");

	(void)state;
	try_each_allocation(keep_one, dress, false);
	json_decref(dress);
}

/* ---- the list of a kit ---- */

static const struct response *list(struct web *web, enum who who)
{
	char path[40];
	const struct response *page;

	snprintf(path, sizeof path, "/kits/%lld", (long long)web_kit(web, ANN).v);
	page = web_get(web, who, path);
	return page;
}

static void rename_chapter(struct web *web)
{
	assert_int_equal(setting_set_text(web_store(web), SETTING_CHAPTER, "Heron Hill"), ST_OK);
}

static void promote_member(struct web *web)
{
	assert_int_equal(member_set_role(web_store(web), web_member(web, ANN), ROLE_STEWARD),
	                 ST_OK);
}

static void rename_kit(struct web *web)
{
	assert_int_equal(kit_rename(web_store(web), web_kit(web, ANN), "The blue one"), ST_OK);
}

static void test_the_list_follows_what_it_shows(void **state)
{
	static const struct {
		void (*change)(struct web *web);
		const char *text;
	} changes[] = {
	        {rename_chapter, "Heron Hill"},
	        {promote_member, "/board"},
	        {rename_kit, "The blue one"},
	};
	struct web *web = web_new(NULL, 0, NULL, 0);

	(void)state;
	for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
		assert_int_equal(list(web, ANN)->status, 200);
		assert_false(web_holds(list(web, ANN), changes[i].text));
		changes[i].change(web);
		assert_true(web_holds(list(web, ANN), changes[i].text));
		assert_true(web_holds(list(web, ANN), changes[i].text));
	}
	web_free(web);
}

static void test_the_list_is_the_owners_alone(void **state)
{
	struct web *web = web_new(NULL, 0, NULL, 0);

	(void)state;
	assert_true(web_holds(list(web, ANN), web_form_token(web, ANN)));
	assert_int_equal(list(web, BEN)->status, 404);
	assert_int_equal(list(web, VISITOR)->status, 303);
	assert_true(web_holds(list(web, ANN), web_form_token(web, ANN)));
	web_free(web);
}

static void test_the_list_keeps_its_tag_while_it_is_the_same(void **state)
{
	struct web *web = web_new(NULL, 0, NULL, 0);
	char tag[80];

	(void)state;
	snprintf(tag, sizeof tag, "%s", web_header(list(web, ANN), "ETag"));
	assert_int_equal(tag[0], '"');
	assert_string_equal(web_header(list(web, ANN), "ETag"), tag);
	rename_kit(web);
	assert_string_not_equal(web_header(list(web, ANN), "ETag"), tag);
	web_free(web);
}

/* Another message above the list is another page. */
static void test_a_message_is_shown_once(void **state)
{
	struct web *web = web_new(NULL, 0, NULL, 0);
	char path[60];

	(void)state;
	snprintf(path, sizeof path, "/kits/%lld?said=saved", (long long)web_kit(web, ANN).v);
	assert_false(web_holds(list(web, ANN), "role=\"status\""));
	assert_true(web_holds(web_get(web, ANN, path), "role=\"status\""));
	assert_false(web_holds(list(web, ANN), "role=\"status\""));
	web_free(web);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test(test_only_its_own_dress_finds_it),
	        cmocka_unit_test(test_a_later_page_takes_its_place),
	        cmocka_unit_test(test_lack_of_memory_keeps_nothing),
	        cmocka_unit_test(test_the_list_follows_what_it_shows),
	        cmocka_unit_test(test_the_list_is_the_owners_alone),
	        cmocka_unit_test(test_the_list_keeps_its_tag_while_it_is_the_same),
	        cmocka_unit_test(test_a_message_is_shown_once),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
