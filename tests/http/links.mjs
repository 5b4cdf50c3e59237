// Every link of every page that a visitor or a builder can reach leads
// somewhere. Of addresses that differ in their numbers only, six are followed.
import assert from 'node:assert/strict';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { Browser, signIn } from '../support/client.mjs';

const OF_ONE_SHAPE = 6;
const server = await serve(folder(), ['--demo', '--behind-proxy']);

const local = (link, at) => new URL(link, new URL(at, server.url));

async function dead(browser) {
	const found = [];
	const seen = new Set(['/']);
	const shapes = new Map();
	const ahead = [['/', '/']];
	for (let next = ahead.shift(); next; next = ahead.shift()) {
		const [at, from] = next;
		const page = await browser.open(at);
		if (page.status >= 400)
			found.push(`${at} (${page.status}) from ${from}`);
		for (const link of page.links) {
			const url = local(link, at);
			const target = url.pathname + url.search;
			const shape = target.replace(/\d+/g, 'N');
			if (url.origin !== new URL(server.url).origin || seen.has(target) || (shapes.get(shape) ?? 0) >= OF_ONE_SHAPE)
				continue;
			seen.add(target);
			shapes.set(shape, (shapes.get(shape) ?? 0) + 1);
			ahead.push([target, at]);
		}
	}
	assert.ok(seen.size > 15, `only ${seen.size} addresses were reached`);
	return found;
}

await check('a visitor meets no dead link', async () =>
	assert.deepEqual(await dead(new Browser(server.url)), []));
await check('a builder meets no dead link', async () =>
	assert.deepEqual(await dead(await signIn(server.url, 'builder')), []));
await server.stop();
finish();
