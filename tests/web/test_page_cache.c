/* test_page_cache.c - a kept page is handed out under its own key and dress only, and
 * the list of a kit follows all that it shows besides the kit.
 */
#include <stdio.h>
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "store/members.h"
#include "store/settings.h"
#include "web/http/page_cache.h"

/* ---- the page alone ---- */

static json_t *dress_of(const char *token, const char *chapter)
{
	return json_pack("{s:s, s:s, s:{s:b}}", "token", token, "chapter", chapter, "member",
	                 "steward", 0);
}

static void put(struct page_cache *kept, json_t *dress, const char *body)
{
	struct response page = {.body = body, .len = strlen(body)};

	page_cache_put(kept, "key", dress, &page);
	json_decref(dress);
}

/* The body found under that dress, "" when none. */
static const char *found(struct page_cache *kept, struct arena *arena, json_t *dress)
{
	struct response page = {.body = "", .etag = NULL};
	bool is = page_cache_find(kept, "key", dress, arena, &page);

	json_decref(dress);
	assert_true(is == (page.etag != NULL));
	assert_int_equal(strlen(page.body), page.len);
	return page.body;
}

static void test_only_its_own_dress_finds_it(void **state)
{
	struct page_cache *kept = page_cache_new();
	struct arena *arena = arena_new();

	(void)state;
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "");
	put(kept, dress_of("a", "Hill"), "first");
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "first");
	assert_string_equal(found(kept, arena, dress_of("b", "Hill")), "");
	assert_string_equal(found(kept, arena, dress_of("a", "")), "");
	assert_string_equal(found(kept, arena, json_object()), "");
	arena_free(arena);
	page_cache_free(kept);
}

static void test_each_key_has_its_page(void **state)
{
	struct page_cache *kept = page_cache_new();
	struct arena *arena = arena_new();
	struct response page = {.etag = NULL};
	json_t *dress = dress_of("a", "Hill");

	(void)state;
	put(kept, dress_of("a", "Hill"), "first");
	assert_false(page_cache_find(kept, "ke", dress, arena, &page));
	assert_false(page_cache_find(kept, "key ", dress, arena, &page));
	page_cache_put(kept, "other", dress, &(struct response){.body = "second", .len = 6});
	assert_true(page_cache_find(kept, "other", dress, arena, &page));
	assert_string_equal(page.body, "second");
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "first");
	json_decref(dress);
	arena_free(arena);
	page_cache_free(kept);
}

/* Room for very many is made by those longest at rest. */
static void test_what_is_asked_for_stays(void **state)
{
	struct page_cache *kept = page_cache_new();
	struct arena *arena = arena_new();

	(void)state;
	put(kept, dress_of("mine", "Hill"), "mine");
	for (int i = 0; i < 1000; i++) {
		char token[20];

		snprintf(token, sizeof token, "%d", i);
		put(kept, dress_of(token, "Hill"), token);
		assert_string_equal(found(kept, arena, dress_of(token, "Hill")), token);
		assert_string_equal(found(kept, arena, dress_of("mine", "Hill")), "mine");
	}
	assert_string_equal(found(kept, arena, dress_of("0", "Hill")), "");
	arena_free(arena);
	page_cache_free(kept);
}

/* A page of a quarter of a megabyte is kept, a larger one is not. */
static void test_a_huge_page_is_not_kept(void **state)
{
	enum { LIMIT = 256 * 1024 };
	struct page_cache *kept = page_cache_new();
	struct arena *arena = arena_new();
	char *huge = memset(arena_array(arena, LIMIT + 2, 1), 'x', LIMIT + 1);

	(void)state;
	put(kept, dress_of("a", "Hill"), huge);
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), "");
	huge[LIMIT] = '\0';
	put(kept, dress_of("a", "Hill"), huge);
	assert_string_equal(found(kept, arena, dress_of("a", "Hill")), huge);
	arena_free(arena);
	page_cache_free(kept);
}

/* Too little memory keeps nothing, or what was there: never a part. */
static bool keep_one(void *context)
{
	struct page_cache *kept = page_cache_new();
	struct arena *arena = arena_new();
	bool kept_it = false;

	if (kept && arena) {
		const char *body;

		page_cache_put(kept, "key", context,
		               &(struct response){.body = "whole", .len = strlen("whole")});
		body = found(kept, arena, json_incref(context));
		kept_it = strcmp(body, "whole") == 0;
		assert_true(kept_it || *body == '\0');
	}
	arena_free(arena);
	page_cache_free(kept);
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
	        cmocka_unit_test(test_each_key_has_its_page),
	        cmocka_unit_test(test_what_is_asked_for_stays),
	        cmocka_unit_test(test_a_huge_page_is_not_kept),
	        cmocka_unit_test(test_lack_of_memory_keeps_nothing),
	        cmocka_unit_test(test_the_list_follows_what_it_shows),
	        cmocka_unit_test(test_the_list_is_the_owners_alone),
	        cmocka_unit_test(test_the_list_keeps_its_tag_while_it_is_the_same),
	        cmocka_unit_test(test_a_message_is_shown_once),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
