/* mail_options.h - how serve is told to send mail. */
#ifndef CLI_MAIL_OPTIONS_H
#define CLI_MAIL_OPTIONS_H

#include "cli/command.h"
#include "chapter/mail_round.h"

#define MAIL_SECRET_SIZE 512

struct mail_options {
	struct mail_setup setup;
	struct mail_server server;
	char secret[MAIL_SECRET_SIZE]; /* user, NUL, password */
	bool on;
};

/* Reads and checks --mail and what goes with it; options not given: mail is
 * off. false: used wrongly, and why has been said on standard error. *out must
 * stay where it is. Before the first thread starts. */
bool mail_options_read(const struct command_args *args, struct mail_options *out);

#endif
