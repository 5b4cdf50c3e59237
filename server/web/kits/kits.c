/* kits.c - a member's kits: the list with what is left of each, a new one,
 * another name, removal after a question.
 */
#include "base/text.h"
#include "store/store.h"
#include "web/kits/kit_page.h"
#include "web/kits/kit_pages.h"
#include "web/kits/kit_parts.h"
#include "web/http/respond.h"

const struct input kit_name_inputs[] = {
        {"name", "Name of the kit", INPUT_LINE, .required = true, .longest = KIT_NAME_LONGEST},
        INPUTS_END};

const struct input kit_remove_inputs[] = {
        {"sure", "Yes, remove this kit with its facts and records", INPUT_FLAG, .required = true},
        INPUTS_END};

/* ---- the list ---- */

static json_t *counts_view(const struct kit_view *view)
{
	return json_pack("{s:o, s:i, s:i, s:i, s:o, s:s}", "kit", kit_present(&view->kit), "left",
	                 (int)view->piled[PILE_LEFT], "ask", (int)view->piled[PILE_ASK], "total",
	                 (int)view->catalogue->count, "model", present_name(&view->facts.model),
	                 "serial", view->facts.has_serial ? view->facts.serial.text : "");
}

struct kits_list {
	json_t *rows;
};

static enum status add_kit_row(struct context *c, const struct kit_view *view, void *context)
{
	struct kits_list *list = context;

	(void)c;
	list->rows = present_append(list->rows, counts_view(view));
	return list->rows ? ST_OK : ST_NOMEM;
}

static enum status show_kits(struct context *c)
{
	struct kits_list list = {json_array()};
	const struct kit *kits = NULL;
	size_t count = 0;
	enum status status = kit_list(c->store, c->arena, c->member->id, &kits, &count);

	for (size_t i = 0; status == ST_OK && i < count; i++)
		status = kit_with_view(c, kits[i].id, add_kit_row, &list);
	if (status != ST_OK) {
		json_decref(list.rows);
		return status;
	}
	return respond_page(c, "kits.html", "My kits",
	                    json_pack("{s:o, s:o, s:b}", "kits", list.rows, "form",
	                              form_view(c->form), "in_kits", 1));
}

enum status page_kits(struct context *c)
{
	c->form = form_blank(c->arena, kit_name_inputs);
	return c->form ? show_kits(c) : ST_NOMEM;
}

enum status act_kit_add(struct context *c)
{
	struct kit_id id;
	enum status status;

	if (!form_ok(c->form))
		return show_kits(c);
	status = kit_add(c->store, c->member->id, form_text(c->form, "name"), c->now, &id);
	status = form_bound(c->form, c->store, status);
	if (status != ST_OK)
		return status;
	if (!form_ok(c->form))
		return show_kits(c);
	return respond_redirect(c, "/kits/%lld/facts?said=kit-added", (long long)id.v);
}

/* ---- another name ---- */

static enum status with_kit(struct context *c, struct kit *kit)
{
	return kit_read(c->store, c->arena, (struct kit_id){context_id(c, "kit")}, kit);
}

static enum status show_name(struct context *c, const struct kit *kit)
{
	return kit_respond(c, kit, "kit_name.html", "Another name for the kit",
	                   json_pack("{s:o}", "form", form_view(c->form)));
}

enum status page_kit_rename(struct context *c)
{
	struct kit kit;
	enum status status = with_kit(c, &kit);

	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, kit_name_inputs);
	if (!c->form)
		return ST_NOMEM;
	form_set(c->form, "name", kit.name);
	return show_name(c, &kit);
}

enum status act_kit_rename(struct context *c)
{
	struct kit kit;
	enum status status = with_kit(c, &kit);

	if (status == ST_OK && !form_ok(c->form))
		return show_name(c, &kit);
	if (status == ST_OK)
		status = kit_rename(c->store, kit.id, form_text(c->form, "name"));
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits/%lld?said=saved", (long long)kit.id.v);
}

/* ---- removal ---- */

static enum status show_removal(struct context *c, const struct kit *kit)
{
	return kit_respond(
	        c, kit, "kit_remove.html", "Remove this kit?",
	        json_pack("{s:o, s:i}", "form", form_view(c->form), "records", (int)kit->records));
}

enum status page_kit_remove(struct context *c)
{
	struct kit kit;
	enum status status = with_kit(c, &kit);

	if (status != ST_OK)
		return status;
	c->form = form_blank(c->arena, kit_remove_inputs);
	return c->form ? show_removal(c, &kit) : ST_NOMEM;
}

enum status act_kit_remove(struct context *c)
{
	struct kit kit;
	enum status status = with_kit(c, &kit);

	if (status == ST_OK && !form_ok(c->form))
		return show_removal(c, &kit);
	if (status == ST_OK)
		status = kit_remove(c->store, kit.id);
	if (status != ST_OK)
		return status;
	return respond_redirect(c, "/kits?said=kit-removed");
}
