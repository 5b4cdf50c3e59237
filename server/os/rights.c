#include "os/rights.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/landlock.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "os/log.h"

/* Everything that changes a file or folder; reading stays free. */
#define CHANGES                                                                                    \
	(LANDLOCK_ACCESS_FS_WRITE_FILE | LANDLOCK_ACCESS_FS_REMOVE_DIR |                           \
	 LANDLOCK_ACCESS_FS_REMOVE_FILE | LANDLOCK_ACCESS_FS_MAKE_CHAR |                           \
	 LANDLOCK_ACCESS_FS_MAKE_DIR | LANDLOCK_ACCESS_FS_MAKE_REG |                               \
	 LANDLOCK_ACCESS_FS_MAKE_SOCK | LANDLOCK_ACCESS_FS_MAKE_FIFO |                             \
	 LANDLOCK_ACCESS_FS_MAKE_BLOCK | LANDLOCK_ACCESS_FS_MAKE_SYM)

bool rights_are_roots(void)
{
	return geteuid() == 0;
}

static enum status allow_below(int rules, const char *folder)
{
	struct landlock_path_beneath_attr rule = {.allowed_access = CHANGES};
	long added;

	rule.parent_fd = open(folder, O_PATH | O_CLOEXEC);
	if (rule.parent_fd < 0)
		return ST_IO;
	added = syscall(SYS_landlock_add_rule, rules, LANDLOCK_RULE_PATH_BENEATH, &rule, 0);
	close(rule.parent_fd);
	return added == 0 ? ST_OK : ST_IO;
}

static enum status fence(int rules, const char *folder)
{
	enum status status = allow_below(rules, folder);

	if (status == ST_OK)
		status = allow_below(rules, "/tmp");
	if (status == ST_OK && syscall(SYS_landlock_restrict_self, rules, 0) != 0)
		status = ST_IO;
	return status;
}

static enum status fence_writes(const char *folder)
{
	struct landlock_ruleset_attr handled = {.handled_access_fs = CHANGES};
	long rules = syscall(SYS_landlock_create_ruleset, &handled, sizeof handled, 0);
	enum status status;

	if (rules < 0) {
		log_line(LOG_LEVEL_WARNING,
		         "this kernel has no Landlock (%s): writes are not fenced",
		         strerror(errno));
		return ST_OK;
	}
	status = fence((int)rules, folder);
	close((int)rules);
	return status;
}

enum status rights_drop(const char *folder)
{
	umask(077);
	if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0 || prctl(PR_SET_DUMPABLE, 0, 0, 0, 0) != 0)
		return ST_IO;
	return fence_writes(folder);
}
