/* command.h - the commands of the command line, one file each.
 *
 * main.c finds the command by its name in one table, answers --help and reads
 * the options that the row allows; a command gets what was given and returns
 * the exit status: 0 done, 1 failed (said why on standard error), 2 used wrongly.
 */
#ifndef CLI_COMMAND_H
#define CLI_COMMAND_H

#include <stdbool.h>

struct command_args {
	const char *data;        /* --data DIR, NULL when not given */
	const char *listen;      /* --listen ADDR:PORT */
	const char *url;         /* --url https://... : where it is reached from outside */
	const char *file;        /* the operand: a file, or a login */
	bool code_off;           /* --code-off */
	bool unlisted;           /* --unlisted */
	bool demo;               /* --demo */
	const char *standby;     /* --standby COPIES */
	bool behind_proxy;       /* --behind-proxy */
	const char *mail;        /* --mail smtp://HOST[:PORT] */
	const char *mail_from;   /* --mail-from ADDRESS */
	const char *mail_secret; /* --mail-secret FILE */
	bool mail_plain;         /* --mail-plain */
};

enum command_needs {
	NEEDS_DATA = 1,
	TAKES_FILE = 2,  /* an operand that must be given */
	TAKES_LOGIN = 8, /* an operand that must be given */
	TAKES_UNLISTED = 32,
	TAKES_PLACE = 16, /* an operand in place of --data */
	TAKES_SERVER = 4, /* --listen, --url, --demo, --behind-proxy, --mail... */
};

struct command {
	const char *name;
	unsigned needs;
	int (*run)(const struct command_args *args);
	const char *usage; /* one line */
	const char *help;  /* what it does, in a few lines */
};

int command_serve(const struct command_args *args);
int command_decide(const struct command_args *args);
int command_import(const struct command_args *args);
int command_export(const struct command_args *args);
int command_backup(const struct command_args *args);
int command_admin_link(const struct command_args *args);
int command_verify(const struct command_args *args);
int command_reseal(const struct command_args *args);

/* Says "fairlead: ..." on standard error and returns 1. */
int command_failed(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
