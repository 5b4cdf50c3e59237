#include "cli/command.h"

#include <stdarg.h>
#include <stdio.h>

int command_failed(const char *format, ...)
{
	va_list args;

	va_start(args, format);
	fputs("fairlead: ", stderr);
	vfprintf(stderr, format, args);
	fputc('\n', stderr);
	va_end(args);
	return 1;
}
