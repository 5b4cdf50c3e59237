/* rights.h - giving up what a web service does not need, before the first byte
 * of input is read.
 */
#ifndef OS_RIGHTS_H
#define OS_RIGHTS_H

#include <stdbool.h>

#include "base/status.h"

/* Running as root? The caller warns. */
bool rights_are_roots(void);

/* For this process and every thread it starts later: new files are the
 * owner's alone, no program gains rights (no_new_privs), no core dump, and,
 * where the kernel has Landlock, nothing can be written outside folder and the
 * folder for temporary files. An old kernel without Landlock is told in the
 * log and is not a failure. ST_IO when another step fails: then do not serve.
 * Call before the first thread starts; cannot be undone. */
enum status rights_drop(const char *folder) MUST_CHECK;

#endif
