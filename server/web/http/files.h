/* files.h - the templates of server/web and the files of static, embedded in the binary. */
#ifndef WEB_HTTP_FILES_H
#define WEB_HTTP_FILES_H

#include "base/embedded.h"

extern const struct embedded_file views_files[];
extern const size_t views_files_count;

extern const struct embedded_file static_files[];
extern const size_t static_files_count;

#endif
