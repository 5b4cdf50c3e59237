/* browser.c - a User-Agent field told in words.
 *
 * Browsers name their ancestors too (Chrome says Safari), so the first row
 * that is found counts, the most special first. Common practice, no source.
 */
#include "web/http/browser.h"

#include <stddef.h>
#include <string.h>

/* Each combination is a text of its own, so that labels need no memory. */
#define SYSTEMS 8
#define ON(browser)                                                                                \
	{                                                                                          \
		browser " on Android", browser " on an iPhone", browser " on an iPad",             \
		        browser " on Windows", browser " on ChromeOS", browser " on a Mac",        \
		        browser " on Linux", browser                                               \
	}

static const char *const systems[SYSTEMS - 1] = {"Android", "iPhone",   "iPad", "Windows NT",
                                                 "CrOS",    "Mac OS X", "Linux"};

static const struct {
	const char *sign;
	const char *labels[SYSTEMS]; /* by system; the last for none of them */
} browsers[] = {
        {"Edg/", ON("Edge")},      {"EdgA/", ON("Edge")},
        {"OPR/", ON("Opera")},     {"SamsungBrowser/", ON("Samsung Internet")},
        {"FxiOS/", ON("Firefox")}, {"Firefox/", ON("Firefox")},
        {"CriOS/", ON("Chrome")},  {"Chrome/", ON("Chrome")},
        {"Safari/", ON("Safari")}, {"Mozilla/", ON("A browser")},
};

static size_t find_system(const char *user_agent)
{
	size_t i = 0;

	while (i < SYSTEMS - 1 && !strstr(user_agent, systems[i]))
		i++;
	return i;
}

const char *browser_label(const char *user_agent)
{
	if (user_agent)
		for (size_t i = 0; i < sizeof browsers / sizeof browsers[0]; i++)
			if (strstr(user_agent, browsers[i].sign))
				return browsers[i].labels[find_system(user_agent)];
	return "A browser or program without a name";
}
