/* people.h - who a member is, as pages need it. */
#ifndef WEB_PEOPLE_H
#define WEB_PEOPLE_H

#include <stdint.h>

struct member_id {
	int64_t v; /* 0: none */
};

enum role { ROLE_BUILDER, ROLE_STEWARD, ROLE_ADMIN }; /* each includes those before it */

#endif
