/* The command line: finds the command, reads its options, runs it. */
#include <getopt.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "cli/command.h"
#include "os/random.h"

static const struct command commands[] = {
        {"serve", NEEDS_DATA | TAKES_SERVER, command_serve,
         "serve --data DIR [--listen ADDR:PORT] [--url URL] [--behind-proxy] [--demo] [--mail URL]",
         "Serves the chapter's list over HTTP; everything is kept in DIR.\n"
         "  --listen ADDR:PORT  where to listen, 127.0.0.1:8080 unless given; port 0: any free "
         "one\n"
         "  --url URL           address by which builders reach it; https makes cookies secure\n"
         "  --behind-proxy      take the caller's address from the proxy's X-Forwarded-For\n"
         "  --demo              fill an empty DIR with the invented demonstration\n"
         "  --standby COPIES    change nothing; serve the newest copy in that folder, and each\n"
         "                      newer one within a minute\n"
         "  --mail URL          send news by mail through smtp://HOST[:PORT] or smtps://...; with\n"
         "                      --url, and --mail-from ADDRESS, from which mails come\n"
         "  --mail-secret FILE  holds USER:PASSWORD for that server; closed to others; or the\n"
         "                      environment's FAIRLEAD_MAIL_SECRET\n"
         "  --mail-plain        allow smtp:// to another machine without TLS\n"
         "The first line on standard output is: listening on http://ADDR:PORT\n"
         "With no member yet it prints a one-time link that makes the first admin."},
        {"decide", 0, command_decide, "decide < CASES > ANSWERS",
         "Decides effectivity: JSON Lines in, JSON Lines out, one case a line:\n"
         "  {\"statement\": TEXT, \"facts\": {...}}\n"
         "gives {\"answer\", \"needs\", \"reason\", \"groups\"} or {\"error\"}. Formats: "
         "seed/FORMAT.md."},
        {"import", NEEDS_DATA | TAKES_FILE, command_import, "import FILE --data DIR",
         "Adds the notices of a JSON file (format: seed/FORMAT.md), all of them or, if\n"
         "anything in the file is wrong, none."},
        {"export", NEEDS_DATA, command_export, "export --data DIR > FILE",
         "Prints all published notices as a JSON file that import takes."},
        {"backup", NEEDS_DATA | TAKES_FILE | TAKES_UNLISTED, command_backup,
         "backup DEST --data DIR [--unlisted]",
         "Copies the database, while it is served or not, into the new file DEST, and\n"
         "checks the copy. DEST.b2 gets its digest, by which verify sees any changed byte.\n"
         "  --unlisted  neither check it nor tell the admins of it: one of many, sent elsewhere"},
        {"admin-link", NEEDS_DATA | TAKES_LOGIN, command_admin_link,
         "admin-link LOGIN --data DIR [--code-off]",
         "For an admin who has lost the password and has no other admin to ask: prints a link,\n"
         "good for two days and once, that sets a new one. It can be made while DIR is served.\n"
         "  --code-off  the phone for the code at sign-in is lost too: turn the code off\n"
         "Both are told in the log of who did what, as done on the command line."},
        {"verify", TAKES_PLACE, command_verify, "verify FILE|DIR",
         "Checks a database or a copy, and changes nothing: the file itself, the chain of\n"
         "every kit's records, whether anything was changed outside the program, and, where\n"
         "FILE.b2 lies beside it, every byte. --data DIR does the same."},
        {"reseal", NEEDS_DATA, command_reseal, "reseal --data DIR",
         "Takes what verify told to be changed outside the program as it stands now. Look\n"
         "at it first, and correct it; see deploy/README.md."},
};

#define COMMANDS (sizeof commands / sizeof commands[0])

static const struct command *find_command(const char *name)
{
	for (size_t i = 0; i < COMMANDS; i++)
		if (strcmp(commands[i].name, name) == 0)
			return &commands[i];
	return NULL;
}

static int print_overview(void)
{
	puts("Fairlead keeps a chapter's change notices and tells each builder which concern the "
	     "kit.\n");
	for (size_t i = 0; i < COMMANDS; i++)
		printf("  fairlead %s\n", commands[i].usage);
	puts("\nfairlead COMMAND --help says more.");
	return 0;
}

static int print_help(const struct command *command)
{
	printf("fairlead %s\n\n%s\n", command->usage, command->help);
	return 0;
}

static int wrong_use(const struct command *command, const char *why)
{
	fprintf(stderr, "fairlead: %s; use: fairlead %s\n", why,
	        command ? command->usage
	                : "serve|decide|import|export|backup|admin-link|verify|reseal [--help]");
	return 2;
}

static bool take_mail_option(int option, struct command_args *args)
{
	switch (option) {
	case 'M':
		args->mail = optarg;
		return true;
	case 'F':
		args->mail_from = optarg;
		return true;
	case 'S':
		args->mail_secret = optarg;
		return true;
	case 'P':
		args->mail_plain = true;
		return true;
	default:
		return false;
	}
}

/* Takes one option; false when this command does not have it. */
static bool take_option(const struct command *command, int option, struct command_args *args)
{
	bool server = command->needs & TAKES_SERVER;

	switch (option) {
	case 'd':
		args->data = optarg;
		return command->needs & (NEEDS_DATA | TAKES_PLACE);
	case 'l':
		args->listen = optarg;
		return server;
	case 'u':
		args->url = optarg;
		return server;
	case 'p':
		args->behind_proxy = true;
		return server;
	case 'm':
		args->demo = true;
		return server;
	case 's':
		args->standby = optarg;
		return server;
	case 'n':
		args->unlisted = true;
		return command->needs & TAKES_UNLISTED;
	case 'c':
		args->code_off = true;
		return command->needs & TAKES_LOGIN;
	default:
		return server && take_mail_option(option, args);
	}
}

static int run(const struct command *command, int argc, char **argv)
{
	static const struct option options[] = {{"data", required_argument, NULL, 'd'},
	                                        {"listen", required_argument, NULL, 'l'},
	                                        {"url", required_argument, NULL, 'u'},
	                                        {"behind-proxy", no_argument, NULL, 'p'},
	                                        {"demo", no_argument, NULL, 'm'},
	                                        {"code-off", no_argument, NULL, 'c'},
	                                        {"unlisted", no_argument, NULL, 'n'},
	                                        {"standby", required_argument, NULL, 's'},
	                                        {"mail", required_argument, NULL, 'M'},
	                                        {"mail-from", required_argument, NULL, 'F'},
	                                        {"mail-secret", required_argument, NULL, 'S'},
	                                        {"mail-plain", no_argument, NULL, 'P'},
	                                        {"help", no_argument, NULL, 'h'},
	                                        {NULL, 0, NULL, 0}};
	struct command_args args = {.data = NULL};
	int option;

	opterr = 0;
	while ((option = getopt_long(argc, argv, "", options, NULL)) != -1) {
		if (option == 'h')
			return print_help(command);
		if (!take_option(command, option, &args))
			return wrong_use(command, "unknown or incomplete option");
	}
	if (optind < argc && (command->needs & (TAKES_FILE | TAKES_LOGIN)))
		args.file = argv[optind++];
	if (optind < argc && (command->needs & TAKES_PLACE) && !args.data)
		args.data = argv[optind++];
	if (optind < argc)
		return wrong_use(command, "too many words");
	if ((command->needs & TAKES_FILE) && !args.file)
		return wrong_use(command, "a file is missing");
	if ((command->needs & TAKES_LOGIN) && !args.file)
		return wrong_use(command, "a login is missing");
	if ((command->needs & TAKES_PLACE) && !args.data)
		return wrong_use(command, "a file or folder is missing");
	if ((command->needs & NEEDS_DATA) && !args.data)
		return wrong_use(command, "--data DIR is missing");
	if (random_start() != ST_OK)
		return command_failed("this machine has no source of random bytes");
	return command->run(&args);
}

int main(int argc, char **argv)
{
	const struct command *command;

	/* What is written holds members' data: for the owner only. */
	umask(077);
	if (argc < 2)
		return wrong_use(NULL, "a command is missing");
	if (strcmp(argv[1], "--help") == 0)
		return print_overview();
	command = find_command(argv[1]);
	if (!command)
		return wrong_use(NULL, "unknown command");
	return run(command, argc - 1, argv + 1);
}
