// A walk over the route table, server/web/*/routes.inc, with each role: visitor,
// builder, other builder, steward, admin. What to expect follows from the
// column "caller" alone: that each row names the right one is held by
// tests/web/test_callers.c, where it is written by hand.
//
// A request with a field that no page knows gets 400 only behind the guard, and
// changes nothing: so it tells who is let in, without doing what the row does.
import assert from 'node:assert/strict';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { dump, folder, serve, sql } from '../support/fairlead.mjs';
import { readRoutes } from '../support/routes.mjs';
import { Browser, join, makeKit, signIn } from '../support/client.mjs';

const routes = readRoutes();

const data = folder();
const server = await serve(data, ['--demo', '--behind-proxy']);
const roles = {
	visitor: new Browser(server.url),
	builder: await signIn(server.url, 'builder'),
	steward: await signIn(server.url, 'steward'),
	admin: await signIn(server.url, 'admin'),
};
roles.other = await join(roles.admin, 'wilma');
await makeKit(roles.other, 'Second hand');
const row = text => sql(path.join(data, 'fairlead.db'), text) || '1';
const kit = row("select min(kits.id) from kits join members on members.id = owner where login = 'tobias';");
row(`update kits set shown = 1 where id = ${kit};`);
const ids = {
	kit, notice: '1', record: row(`select min(id) from records where kit_id = ${kit};`), note: row('select min(id) from notes;'), call: row('select min(id) from steward_calls;'),
	entry: row(`select min(id) from kit_log where kit_id = ${kit};`),
	stock: row(`insert into kit_stock (kit_id, part, unit, act, quantity, remark, entered_at) values (${kit}, 'X-1', '', 1, 1000, '', 1) returning id;`),
	length: row(`insert into kit_lengths (kit_id, use, stock, cut, remark) values (${kit}, 0, 'X-2', '3 in', '') returning id;`),
	report: row('select min(id) from reports;'), finding: row('select min(id) from findings;'),
	revision: row('select min(id) from revisions where notice_id = 1;'),
	picture: row(`insert into files (hash, size, bytes) values (randomblob(32), 1, x'78'); insert into pictures (note_id, place, words, mime, width, height, small_mime, small_width, small_height, large, small) select min(notes.id), 5, '', 'image/png', 1, 1, 'image/png', 1, 1, max(files.id), max(files.id) from notes, files returning id;`),
	file: row('select min(id) from attachments;'), session: '1', id: '1', section: '1', line: '1', mail: '1', model: 'Whimbrel',
};
// The chapter's list is worked out in the background; until it is there its address says so with 503.
for (const ends = Date.now() + 120000; Date.now() < ends && (await roles.builder.request('/shopping.csv')).status === 503;)
	;
const stylesheet = /\/static\/[^"]+\.css[^"]*/.exec((await roles.visitor.open('/')).text)[0];
const addressOf = pattern => pattern === '/static/{file:rest}' ? stylesheet
	: pattern.replace(/\{(\w+)(?::(\w+))?\}/g, (_, name, type) => ids[name] ?? (type ? 'A'.repeat(43) : assert.fail(`no id for {${name}}`)));

// Ranks, as the table of callers says them.
const rank = { visitor: 0, builder: 1, other: 1, steward: 2, admin: 3 };
function expected(caller, role) {
	switch (caller) {
	case 'ANYONE': case 'ANY_TOKEN': return 'in';
	case 'GUEST': return role === 'visitor' ? 'in' : 'home';
	case 'MEMBER': return rank[role] ? 'in' : 'sign in';
	case 'KIT_OWNER': return role === 'visitor' ? 'sign in' : role === 'builder' ? 'in' : 'missing';
	case 'STEWARD': return role === 'visitor' ? 'sign in' : rank[role] >= 2 ? 'in' : 'forbidden';
	case 'ADMIN': return role === 'visitor' ? 'sign in' : rank[role] >= 3 ? 'in' : 'forbidden';
	case 'TOKEN': case 'TOKEN_OWNER': return 'no token';
	default: return assert.fail(`what is CALL_${caller}?`);
	}
}

const tokens = {};
for (const [name, browser] of Object.entries(roles))
	tokens[name] = /name="token" value="([^"]+)"/.exec((await browser.open('/')).text)?.[1] ?? '';

const before = dump(data);

function judge(verdict, route, answer, at) {
	const location = answer.headers.location;
	switch (verdict) {
	case 'home':
		assert.deepEqual([answer.status, location], [303, '/'], at);
		break;
	case 'sign in':
		if (route.method === 'POST')
			assert.equal(answer.status, 403, at);
		else
			assert.ok(answer.status === 303 && location.startsWith('/sign-in?next='), `${at}: ${answer.status} ${location}`);
		break;
	case 'missing':
		assert.equal(answer.status, 404, at);
		break;
	case 'forbidden':
		assert.equal(answer.status, 403, at);
		break;
	case 'no token':
		assert.equal(answer.status, 401, at);
		assert.match(answer.headers['www-authenticate'], /^Bearer/);
		break;
	default:
		assert.fail(verdict);
	}
}

for (const route of routes)
	await check(`${route.method} ${route.pattern} (${route.caller})`, async () => {
		const address = addressOf(route.pattern);
		for (const [role, browser] of Object.entries(roles)) {
			const at = `${role} at ${address}`;
			const verdict = expected(route.caller, role);
			const send = () => route.method === 'POST'
				? browser.post(address, [...(tokens[role] ? [['token', tokens[role]]] : []), ['no-such-field', '1']])
				: browser.request(`${address}${address.includes('?') ? '&' : '?'}no-such-field=1`);
			const answer = await send();
			if (verdict !== 'in') {
				judge(verdict, route, answer, at);
				assert.equal(answer.headers['set-cookie'], undefined, at);
				continue;
			}
			if (!/OPEN_QUERY/.test(route.flags))
				assert.equal(answer.status, 400, at);
			if (route.method === 'GET') {
				const plain = await browser.request(address);
				// Whose a note or a session is, the column does not say.
				const missing = /\{(?!kit\}|notice\})/.test(route.pattern);
				assert.ok(plain.status === 200 || (missing && [403, 404].includes(plain.status)), `${at}: ${plain.status}`);
				assert.equal((await browser.request(address, { method: 'HEAD' })).status, plain.status, `HEAD, ${at}`);
			}
		}
	});

const posts = routes.filter(one => one.method === 'POST');
// Where the address itself is the right (web/http/dispatch.c), forms come from anywhere.
const byToken = posts.filter(one => /R_BY_TOKEN/.test(one.flags));

await check('no form is taken without its token, with another\'s, or from another site', async () => {
	assert.deepEqual(byToken.map(one => one.pattern), ['/mail/stop/{token:text}']);
	for (const route of posts.filter(one => !byToken.includes(one))) {
		const address = addressOf(route.pattern);
		for (const [role, browser] of Object.entries(roles)) {
			if (expected(route.caller, role) !== 'in')
				continue;
			const at = `${role} at ${address}`;
			const own = tokens[role] ? [['token', tokens[role]]] : [];
			const tries = [
				['from another origin', own, { Origin: 'https://elsewhere.example' }],
				['from a sandbox', own, { Origin: 'null' }],
				['from another site', own, { 'Sec-Fetch-Site': 'cross-site' }],
				['from a sister site', own, { 'Sec-Fetch-Site': 'same-site' }],
				...(own.length ? [
					['without a token', [], {}],
					['with an empty token', [['token', '']], {}],
					['with another\'s token', [['token', tokens[role === 'builder' ? 'other' : 'builder']]], {}],
					['with a token cut short', [['token', tokens[role].slice(0, -1)]], {}],
				] : []),
			];
			for (const [how, pairs, headers] of tries) {
				const answer = await browser.post(address, pairs, { headers });
				assert.equal(answer.status, 403, `${at} ${how}`);
				assert.equal(answer.headers['set-cookie'], undefined, `${at} ${how}`);
			}
		}
	}
});

await check('other methods are refused with what there is', async () => {
	for (const pattern of new Set(routes.map(one => one.pattern)))
		for (const method of ['PUT', 'PATCH', 'DELETE', 'OPTIONS', 'PROPFIND', ...(posts.some(one => one.pattern === pattern) ? [] : ['POST'])]) {
			const answer = await roles.admin.request(addressOf(pattern), { method });
			const has = routes.filter(one => one.pattern === pattern).flatMap(one => one.method === 'GET' ? ['GET', 'HEAD'] : ['POST']);
			// A literal row may win over a capture of the same address.
			assert.equal(answer.status, 405, `${method} ${pattern}`);
			for (const one of has)
				assert.ok(answer.headers.allow.split(', ').includes(one), `${method} ${pattern}: Allow: ${answer.headers.allow}`);
			assert.ok(!answer.headers.allow.split(', ').includes(method), `${method} ${pattern}`);
		}
});

await check('none of this changed the database', () => assert.equal(dump(data), before));

await check('kits of others are as if they were not there', async () => {
	const [theirs, missing] = [await roles.other.request(`/kits/${kit}`), await roles.other.request('/kits/999999')];
	const plain = one => one.text.replaceAll(kit, 'N').replaceAll('999999', 'N');
	assert.equal(plain(theirs), plain(missing));
	assert.equal((await roles.admin.request(`/kits/${kit}`)).status, 404, 'an admin reads no kits');
});

await check('the server ends cleanly', async () => assert.equal(await server.stop(), 0));
finish();
