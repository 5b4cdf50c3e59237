#include "web/notices/notice_search.h"

struct notice_query notice_search_of(const struct form *form, struct page page)
{
	int order = form_choice(form, "order");

	return (struct notice_query){
	        .words = form_text(form, "q"),
	        .part = form_text(form, "part"),
	        .issuer = form_text(form, "issuer"),
	        .model = form_text(form, "model"),
	        .kind = form_choice(form, "kind"),
	        .force = form_choice(form, "force"),
	        .year = (int)form_number(form, "year"),
	        .order = order < 0 ? ORDER_ISSUED : (enum notice_order)order,
	        .page = page,
	};
}
