/* picture_tool FILE LARGE SMALL: cleans a picture as an upload is cleaned and
 * writes both sizes; says what it did in one line and the most memory that it had,
 * in kB, in another, for picture-compare.py. */
#include <stdio.h>
#include <stdlib.h>

#include "chapter/picture.h"

static bool write_file(const char *path, const struct picture *picture)
{
	FILE *file = fopen(path, "wb");
	bool written = file && fwrite(picture->bytes, 1, picture->size, file) == picture->size;

	return file && fclose(file) == 0 && written;
}

static void *read_file(const char *path, size_t *size)
{
	FILE *file = fopen(path, "rb");
	const size_t room = 64 * 1024 * 1024;
	void *bytes = malloc(room);

	if (!file || !bytes) {
		perror(path);
		exit(2);
	}
	*size = fread(bytes, 1, room, file);
	fclose(file);
	return bytes;
}

/* proc(5): VmHWM, of this program alone. */
static long most_memory(void)
{
	FILE *status = fopen("/proc/self/status", "r");
	char line[200];
	long most = -1;

	while (status && most < 0 && fgets(line, sizeof line, status))
		if (sscanf(line, "VmHWM: %ld kB", &most) != 1)
			most = -1;
	if (status)
		fclose(status);
	return most;
}

int main(int argc, char **argv)
{
	struct arena *arena = arena_new();
	struct picture large, small;
	size_t size = 0;
	void *bytes;
	enum status status;

	if (argc != 4 || !arena)
		return 2;
	bytes = read_file(argv[1], &size);
	status = picture_clean_two(arena, bytes, size, &large, &small);
	if (status == ST_OK && write_file(argv[2], &large) && write_file(argv[3], &small))
		printf("taken %ux%u %ux%u\n", large.width, large.height, small.width, small.height);
	else
		printf("refused %s: %s\n", status_words(status),
		       picture_refusal(arena, bytes, size, status));
	printf("%ld\n", most_memory());
	free(bytes);
	arena_free(arena);
	return 0;
}
