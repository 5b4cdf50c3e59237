/* replay.c - feeds a fuzz target the files of a folder: replay FOLDER */
#include <dirent.h>

#include "fuzz.h"

#define LONGEST 1000000

static uint8_t bytes[LONGEST];

static void replay(const char *folder, const char *name)
{
	char path[4096];
	FILE *file;

	snprintf(path, sizeof path, "%s/%s", folder, name);
	file = fopen(path, "rb");
	must(file != NULL, path);
	LLVMFuzzerTestOneInput(bytes, fread(bytes, 1, LONGEST, file));
	fclose(file);
}

int main(int argc, char **argv)
{
	DIR *folder = argc == 2 ? opendir(argv[1]) : NULL;
	const struct dirent *entry;
	unsigned count = 0;

	must(folder != NULL, "the one argument is a folder");
	while ((entry = readdir(folder))) {
		if (entry->d_name[0] == '.')
			continue;
		/* The last name said is the one that failed. */
		printf("%s\n", entry->d_name);
		fflush(stdout);
		replay(argv[1], entry->d_name);
		count++;
	}
	closedir(folder);
	must(count > 0, "the folder holds inputs");
	return 0;
}
