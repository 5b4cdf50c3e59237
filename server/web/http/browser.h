/* browser.h - what a browser calls itself, in a few words, so that members
 * know their sessions apart.
 */
#ifndef WEB_HTTP_BROWSER_H
#define WEB_HTTP_BROWSER_H

/* "Firefox on Android" for a User-Agent field (RFC 9110 section 10.1.5); NULL is
 * allowed. Words of the program only, nothing of what was sent. */
const char *browser_label(const char *user_agent);

#endif
