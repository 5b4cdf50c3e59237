// Finds pages by their links, as a reader would: breadth first from the start
// page, at most a few of each kind (addresses that differ in ids and in the
// values of the query are one kind).

export const kindOf = at => {
	const [path, query] = at.split('#')[0].split('?');
	const keys = [...new URLSearchParams(query ?? '').keys()].sort().join('&');
	return path.replace(/\/\d+(?=\/|$)/g, '/N').replace(/^(\/(?:join|new-password|static))\/.*/, '$1/X') + (keys ? `?${keys}` : '');
};

// Calls visit(page) for each page found; `each` at most of one kind. Answers
// that are no HTML are visited too, and not followed. Gives all pages.
export async function crawl(browser, visit = () => {}, { start = '/', each = 2, limit = 400 } = {}) {
	const seen = new Set([start]), counts = new Map(), queue = [start], pages = [];
	while (queue.length && pages.length < limit) {
		const at = queue.shift();
		const page = await browser.open(at);
		page.asked = at;
		pages.push(page);
		await visit(page);
		if (!/^text\/html/.test(page.headers['content-type']))
			continue;
		for (const link of page.links) {
			const next = new URL(link, new URL(page.at, 'http://here'));
			const address = next.pathname + next.search;
			if (next.host !== 'here' || seen.has(address))
				continue;
			const kind = kindOf(address), count = counts.get(kind) ?? 0;
			if (count >= each)
				continue;
			counts.set(kind, count + 1);
			seen.add(address);
			queue.push(address);
		}
	}
	return pages;
}
