/* test_file_fields.c - text in the place of a file, on every route that takes files.
 *
 * Each route gets a form that is right but for its field of files, which holds
 * text: blank, or a name. It must come back with a fault, and nothing may be kept.
 */
#include <string.h>

#include "support.h"
#include "web_support.h"

#include "web/html/input.h"

#define NOTICES                                                                                    \
	"{\"format\": \"fairlead notices 1\", \"notices\": [{\"number\": \"HB-1\", \"issuer\": "   \
	"\"Harrowfen\", \"kind\": \"service letter\", \"revisions\": [{\"revision\": \"\", "       \
	"\"issued\": \"2015\", \"title\": \"T\", \"force\": \"optional\", \"action\": \"Do\", "    \
	"\"effectivity\": \"all\"}]}]}"

/* Every first thing has the id 1: the notice, the note, the report and its finding.
 * The notice's revision has it too, so that the draft is 2. Kit 1 is Ann's. */
static const struct form_of {
	const char *pattern, *target;
	enum who who;
	const char *fields; /* all that it needs but files */
	bool optional;      /* is taken without files */
} forms[] = {
        {"/board/drafts/{revision}/files", "/board/drafts/2/files", STEWARD, ""},
        {"/board/import", "/board/import", ADMIN, ""},
        {"/board/parts", "/board/parts", STEWARD, ""},
        {"/findings/{finding}/pictures", "/findings/1/pictures", ANN, "picture_words=x"},
        {"/notes/{note}/answer", "/notes/1/answer", BEN, "text=x", true},
        {"/notes/{note}/pictures", "/notes/1/pictures", ANN, "picture_words=x"},
        {"/notices/{notice}/notes", "/notices/1/notes", ANN, "text=x", true},
        {"/part/notes", "/part/notes", ANN, "text=x&number=WH-2207-1", true},
        {"/reports/new", "/reports/new", ANN,
         "kit=1&title=x&seen=x&look=x&severity=grows&another=yes", true},
        {"/reports/{report}/findings", "/reports/1/findings", ANN, "kit=1&answer=found", true},
        {"/reports/{report}/pictures", "/reports/1/pictures", ANN, "picture_words=x"},
        {"/step/notes", "/step/notes", ANN, "text=x&model=Whimbrel&code=EMP-05", true},
};
#define FORMS (sizeof forms / sizeof forms[0])

struct chapter {
	struct web *web;
	struct arena *arena;
};

static void done(const struct response *response)
{
	if (response->status != 303)
		fail_msg("%u: %.*s", response->status, (int)response->len, response->body);
}

static void import_notice(struct chapter *ch)
{
	struct http_upload file = {"file", "notices.json", NOTICES, sizeof NOTICES - 1};
	struct request request = {.method = HTTP_POST, .uploads = {&file, 1}};

	request.headers.sec_fetch_site = "same-origin";
	assert_int_equal(
	        web_send(ch->web, ADMIN, &request, "/board/import",
	                 arena_printf(ch->arena, "token=%s", web_form_token(ch->web, ADMIN)))
	                ->status,
	        200);
}

static int set_up(void **state)
{
	static struct chapter ch;
	struct facts facts = {.has_serial = false};

	ch.web = web_new(NULL, 0, NULL, 0);
	ch.arena = arena_new();
	assert_int_equal(name_make(ch.arena, "Whimbrel", 8, &facts.model), ST_OK);
	assert_int_equal(web_kit(ch.web, ANN).v, 1);
	assert_int_equal(kit_set_facts(web_store(ch.web), web_kit(ch.web, ANN), &facts), ST_OK);
	import_notice(&ch);
	done(web_post(ch.web, STEWARD, "/board/new",
	              "number=HB-2&kind=service+bulletin&force=mandatory"));
	done(web_post(ch.web, ANN, "/notices/1/notes", "text=x"));
	done(web_post(ch.web, ANN, "/reports/new", "kit=1&title=x&seen=x&look=x&severity=grows"));
	*state = &ch;
	return 0;
}

static int tear_down(void **state)
{
	struct chapter *ch = *state;

	web_free(ch->web);
	arena_free(ch->arena);
	return 0;
}

/* The name of the field of files; NULL: the route takes none. */
static const char *file_field(const struct route *route)
{
	for (const struct input *input = route->inputs; input && input->name; input++)
		if (input->kind == INPUT_FILE)
			return input->name;
	return NULL;
}

static const struct form_of *form_for(const struct route *route)
{
	for (size_t i = 0; i < FORMS; i++)
		if (strcmp(forms[i].pattern, route->pattern) == 0)
			return &forms[i];
	return NULL;
}

static void refuse_text(struct chapter *ch, const struct form_of *form, const char *fields)
{
	const struct response *response = web_post(ch->web, form->who, form->target, fields);

	if (response->status != 422 || !web_holds(response, "must be a file"))
		fail_msg("%s %s: %u %.*s", form->target, fields, response->status,
		         (int)response->len, response->body);
}

static void no_text_stands_for_a_file(void **state)
{
	static const char *const texts[] = {"", "+", "a.jpg", "%00", "%FF"};
	struct chapter *ch = *state;
	size_t met = 0;

	for (size_t i = 0; i < routes_count; i++) {
		const char *name = file_field(&routes[i]);
		const struct form_of *form = name ? form_for(&routes[i]) : NULL;

		if (!name)
			continue;
		if (!form)
			fail_msg("%s takes files and has no row here", routes[i].pattern);
		met++;
		for (size_t k = 0; k < sizeof texts / sizeof texts[0]; k++) {
			const char *one =
			        arena_printf(ch->arena, "%s&%s=%s", form->fields, name, texts[k]);

			refuse_text(ch, form, one);
			refuse_text(ch, form, arena_printf(ch->arena, "%s&%s=", one, name));
		}
	}
	assert_int_equal(met, FORMS);
}

/* And are right but for that. */
static void the_forms_are_right(void **state)
{
	struct chapter *ch = *state;

	for (size_t i = 0; i < FORMS; i++)
		if (forms[i].optional)
			done(web_post(ch->web, forms[i].who, forms[i].target, forms[i].fields));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	        cmocka_unit_test_setup_teardown(no_text_stands_for_a_file, set_up, tear_down),
	        cmocka_unit_test_setup_teardown(the_forms_are_right, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
