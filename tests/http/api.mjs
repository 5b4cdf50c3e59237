// The API: the description itself, then what the server says against it.
//
// Sources: OpenAPI 3.1 by @seriousme/openapi-schema-validator; JSON Schema
// 2020-12 by ajv; RFC 8288 (Link), RFC 9110 (ETag, If-None-Match, HEAD, 405 and
// Allow), RFC 9457 (problem), RFC 6750 (bearer tokens).
import assert from 'node:assert/strict';
import { Validator } from '@seriousme/openapi-schema-validator';
import { check, finish, generator } from '../support/check.mjs';
import { dump, folder, run, serve } from '../support/fairlead.mjs';
import { join, makeKit, makeToken, request, signIn } from '../support/client.mjs';
import { description, judge, operationOf, paths } from './description.mjs';

const data = folder();
const server = await serve(data, ['--demo', '--behind-proxy']);
const get = (at, headers = {}) => request(server.url + at, { headers });

// ---- the description ----

await check('the description is OpenAPI 3.1', async () => {
	const validator = new Validator();
	const result = await validator.validate(structuredClone(description));
	assert.ok(result.valid, JSON.stringify(result.errors, null, 1));
	assert.equal(validator.version, '3.1');
});

await check('the server serves the same description', async () => {
	const answer = await get('/api/v1/openapi.json');
	assert.equal(answer.status, 200);
	assert.deepEqual(JSON.parse(answer.text), description);
});

await check('every object of the description is closed, and only GET is described', () => {
	const open = [];
	const look = (schema, at) => {
		if (typeof schema !== 'object' || schema === null)
			return;
		if (schema.type === 'object' && schema.additionalProperties === undefined)
			open.push(at);
		for (const [key, inner] of Object.entries(schema))
			look(inner, `${at}/${key}`);
	};
	look(description.components.schemas, '');
	assert.deepEqual(open, []);
	for (const at of paths)
		assert.deepEqual(operationOf(at).methods, ['get'], at);
});

// ---- tokens, as a user makes them ----

const admin = await signIn(server.url, 'admin');
const builder = await signIn(server.url, 'builder');
const other = await join(admin, 'wilma');
const kit = (await builder.open('/kits')).links.map(at => /^\/kits\/(\d+)$/.exec(at)?.[1]).find(Boolean);
const otherKit = (await makeKit(other, 'Second hand', { model: 'Whimbrel', serial: 'WH-0371' })).split('/')[2];
const token = await makeToken(builder, 'the workshop clock');
let otherToken = await makeToken(other, 'another clock');
const bearer = secret => ({ Authorization: `Bearer ${secret}` });
const all = JSON.parse((await get('/api/v1/notices?limit=500')).text).notices;

await check('a kit answers its owner\'s token', async () => {
	for (const what of ['standings', 'records']) {
		const at = `/api/v1/kits/${kit}/${what}`;
		const answer = await get(at, bearer(token));
		assert.equal(answer.status, 200);
		assert.match(answer.headers['cache-control'], /private|no-store/);
		const value = judge(at, answer);
		assert.ok(value.total > 0, at);
	}
	const { standings, total } = judge(`/api/v1/kits/${kit}/standings`, await get(`/api/v1/kits/${kit}/standings?limit=500`, bearer(token)));
	assert.equal(total, all.length, 'a notice is left off');
	assert.deepEqual(standings.map(one => one.notice.id).sort(), all.map(one => one.id).sort());
});

// A line of two steps for a model that has none in the demonstration.
const line = {
	model: 'Snipe 2', sections: [{ code: 'W', title: 'Wing', steps: [
		{ code: 'W-1', title: 'Ribs', hours: 10, works_in: ['box'], parts: ['WH-1'] },
		{ code: 'W-2', title: 'Skin', hours: 20.5, hours_to_open: 50, needs: ['W-1'], closes: ['box'] }] }],
};

await check('a line that is imported while the server runs is answered as it was', async () => {
	const done = run(['import', '-', '--data', data], { input: JSON.stringify({ format: 'fairlead line 1', lines: [line] }) });
	assert.equal(done.code, 0, done.err);
	const at = `/api/v1/models/${encodeURIComponent('snipe  2')}/line`;
	assert.deepEqual(judge(at, await get(at)).line, line);
	judge('/api/v1/models/none/line', await get('/api/v1/models/none/line'));
	assert.equal((await get('/api/v1/models/none/line')).status, 404);
});

await check('a kit\'s plan tells every notice that is left, in words and numbers', async () => {
	const mine = (await makeKit(builder, 'Snipe', { model: 'Snipe 2' })).split('/')[2];
	const at = `/api/v1/kits/${mine}/plan`;
	const plan = judge(at, await get(at, bearer(token)));
	assert.deepEqual(plan.line, { model: 'Snipe 2', version: 1 });
	assert.equal(plan.notices.length, plan.left);
	assert.ok(plan.left > 0);
	assert.equal(plan.progress.known, false);
	assert.ok(plan.notices.every(one => one.moment === 'cannot tell when'));
	const without = (await makeKit(builder, 'Unknown', { model: 'Nothing like it' })).split('/')[2];
	assert.equal(judge(at, await get(`/api/v1/kits/${without}/plan`, bearer(token))).line, null);
});

await check('every report of the demonstration is as described, with a token and without', async () => {
	const { reports, total } = judge('/api/v1/reports', await get('/api/v1/reports?limit=500'));
	assert.equal(reports.length, total);
	assert.ok(total >= 12, 'the demonstration has fewer than 12');
	for (const row of reports) {
		const [open, known] = [judge(row.url, await get(row.url)), judge(row.url, await get(row.url, bearer(token)))];
		for (const key of Object.keys(row))
			assert.deepEqual(open[key], row[key], `${row.url} ${key}`);
		assert.ok(open.findings.every(one => one.facts === null), `${row.url} tells facts to anybody`);
		assert.equal(known.findings_total, open.findings_total);
		assert.equal(open.tally.found + open.tally.not_there, open.tally.looked);
		assert.ok(open.tally.interval.low <= open.tally.found / (open.tally.looked || 1) || open.tally.looked === 0);
		if (known.findings_total)
			assert.ok(known.findings.some(one => one.facts), row.url);
	}
	for (const state of ['single report', 'confirmed', 'disputed', 'settled']) {
		const some = judge('/api/v1/reports', await get(`/api/v1/reports?state=${encodeURIComponent(state)}`));
		assert.ok(some.total > 0 && some.reports.every(one => one.state.startsWith(state)), state);
	}
	judge('/api/v1/reports', await get('/api/v1/reports?state=lost'));
	judge('/api/v1/reports/999999', await get('/api/v1/reports/999999'));
	judge('/api/v1/reports/1', await get('/api/v1/reports/1?limit=0'));
});

const noToken = [{}, { Authorization: '' }, { Authorization: 'Bearer' }, { Authorization: 'Bearer ' }, bearer('x'),
	bearer(token.slice(0, -1)), bearer(token + 'A'), bearer(token.toUpperCase()), bearer('A'.repeat(token.length)),
	{ Authorization: `Basic ${Buffer.from(`tobias:${token}`).toString('base64')}` }, { Authorization: token },
	{ Cookie: `session=${token}` }, { Cookie: [...builder.cookies].map(one => one.join('=')).join() }];

await check('without a right token: 401 and WWW-Authenticate, a cookie is none', async () => {
	for (const headers of noToken)
		for (const what of ['standings', 'records', 'plan']) {
			const at = `/api/v1/kits/${kit}/${what}`;
			const answer = await get(at, headers);
			assert.equal(answer.status, 401, JSON.stringify(headers));
			assert.match(answer.headers['www-authenticate'], /^Bearer/);
			judge(at, answer);
		}
});

await check('a token that is nobody\'s is refused everywhere, also where none is needed', async () => {
	const bad = ['x', token.slice(0, -1), token + 'A', 'A'.repeat(token.length)];
	for (const at of ['/api/v1/notices', '/api/v1/notices/1', '/api/v1/notices/1/notes', '/api/v1/reports', '/api/v1/reports/1',
		'/api/v1/check?model=Whimbrel', '/api/v1/models/Whimbrel/line', `/api/v1/kits/${kit}/records`])
		for (const one of bad) {
			const answer = await get(at, bearer(one));
			assert.equal(answer.status, 401, `${at}: ${one}`);
			assert.equal(answer.headers['www-authenticate'], 'Bearer error="invalid_token"');
			judge(at, answer);
		}
});

await check('another member\'s token finds nothing, like a kit that is not there', async () => {
	for (const what of ['standings', 'records', 'plan']) {
		const at = `/api/v1/kits/${kit}/${what}`;
		const theirs = await get(at, bearer(otherToken));
		const missing = await get(`/api/v1/kits/999999/${what}`, bearer(otherToken));
		assert.equal(theirs.status, 404);
		assert.equal(theirs.text, missing.text, 'the answer tells that the kit is there');
		judge(at, theirs);
		assert.equal((await get(`/api/v1/kits/${otherKit}/${what}`, bearer(token))).status, 404);
		assert.equal((await get(`/api/v1/kits/${otherKit}/${what}`, bearer(otherToken))).status, 200);
	}
});

await check('a token opens no page, and writes nothing', async () => {
	for (const at of ['/kits', `/kits/${kit}`, '/account', '/admin'])
		assert.notEqual((await get(at, bearer(token))).status, 200, at);
});

await check('a token that is ended opens nothing', async () => {
	const secret = await makeToken(other, 'a short one');
	assert.equal((await get(`/api/v1/kits/${otherKit}/records`, bearer(secret))).status, 200);
	const page = await other.open('/account/tokens');
	for (const form of page.forms.filter(one => /\/end$/.test(one.action)))
		await other.submit(form);
	assert.equal((await get(`/api/v1/kits/${otherKit}/records`, bearer(secret))).status, 401);
	otherToken = await makeToken(other, 'the next clock');
});

// ---- many queries ----

const { below, pick, chance } = generator(20260401);
const hostile = ['"><script>alert(1)</script>', '\u202eabc', 'a\u0000b', '%', '\'', '"', '*', 'OR 1=1', 'NEAR(', '(', '-', 'ü', '🛩', 'x'.repeat(5000)];
const raw = ['%ff', '%c0%af', '%ed%a0%80', '%', '%zz', '%00'];

// Good and bad values of each parameter, by the schema in the description.
function valueOf(parameter) {
	let schema = parameter.schema;
	if (schema.type === 'array')
		schema = schema.items;
	if (chance(0.06))
		return pick(raw);
	const free = () => encodeURIComponent(pick([...hostile, 'spar', 'WH-2207', 'rivet doubler', 'Whimbrel', 'Whimbrel T', 'Harrowfen Aircraft', 'WH-0123', '4', '', ' ']));
	if (schema.enum)
		return encodeURIComponent(chance(0.8) ? pick(schema.enum) : pick(['', 'none', ...hostile]));
	if (schema.type === 'integer' || schema.type === 'number')
		return encodeURIComponent(pick(['0', '1', '2', '7', '25', '100', '500', '501', '1900', '2015', '2199', '2200', '-1', '1.5', '0x10', '1e3', 'many', '99999999999999999999', '']));
	if (schema.$ref?.endsWith('/Date'))
		return encodeURIComponent(pick(['2017', '2017-09', '2017-09-24', '2019-02-28', '2017-13', '2017-09-31', '2017-00', '17', '2017/09', '٢٠١٧', '0000', '9999', '', 'soon']));
	return free();
}

function queryOf(operation) {
	const parameters = (operation.get.parameters ?? []).filter(one => one.in === 'query');
	const parts = [];
	for (const parameter of parameters)
		for (let n = chance(2.5 / parameters.length) ? 1 + (chance(0.2) ? below(3) : 0) : 0; n > 0; n--)
			parts.push(`${parameter.name}=${valueOf(parameter)}`);
	if (chance(0.03))
		parts.push(pick(['nonsense=1', 'limit', '=', '&&', 'said=saved', 'token=x']));
	return parts.join('&');
}

for (const pattern of ['/api/v1/notices', '/api/v1/check', '/api/v1/kits/{kit}/standings'])
	await check(`600 queries of ${pattern} are answered as described`, async () => {
		const counts = {};
		for (let batch = 0; batch < 600; batch += 8)
			await Promise.all(Array.from({ length: 8 }, async () => {
				const query = queryOf(operationOf(pattern));
				const at = `${pattern.replace('{kit}', kit)}?${query}`;
				const answer = await get(at, pattern.includes('kit') ? bearer(token) : {});
				counts[answer.status] = (counts[answer.status] ?? 0) + 1;
				judge(at, answer);
			}));
		console.log(`  ${pattern}: ${JSON.stringify(counts)}`);
		assert.ok(counts[200] > 50 && counts[400] > 50, JSON.stringify(counts));
	});

// Address, and the field that errors must name (null: the query as a whole).
const faulty = [
	['notices?limit=0', 'limit'], ['notices?limit=501', 'limit'], ['notices?limit=x', 'limit'], ['notices?offset=-1', 'offset'],
	['notices?year=1899', 'year'], ['notices?kind=rumour', 'kind'], ['notices?force=urgent', 'force'], ['notices?order=luck', 'order'],
	[`notices?q=${'x'.repeat(201)}`, 'q'], ['notices?q=%00', 'q'], ['notices?q=%E2%80%AEx', 'q'], ['notices?colour=red', null],
	['notices?year=2017&year=2018', null], ['notices?q=%ff', null], ['notices/1/notes?order=luck', 'order'], ['notices/1/notes?limit=0', 'limit'], ['notices/1/notes?mine=yes', null], ['notices?q=%zz', null], ['notices?q=%c0%af', null],
	['check?purchased=2017-13', 'purchased'], ['check?plans=2017-09-31', 'plans'], ['check?first_flight=soon', 'first_flight'],
	['check?serial=%3F', 'serial'], ['check?serial=--', 'serial'], ['check?hours=1.005', 'hours'], ['check?hours=-1', 'hours'],
	['check?landings=1.5', 'landings'], ['check?not_flown=perhaps', 'not_flown'], ['check?not_flown=yes&first_flight=2017', 'not_flown'],
	['check?option=a&without_option=a', 'without_option'], ['check?subkit=1&subkit=1', 'subkit-2'], ['check?standing=sitting', 'standing'],
	['check?option=%22%3E%3Cscript%3E%00', 'option-1'], [`check?model=${'x'.repeat(300)}`, 'model'], ['check?statement=all', null],
];

for (const [query, field] of faulty)
	await check(`400 with its field: ${query.slice(0, 60)}`, async () => {
		const at = `/api/v1/${query}`;
		const answer = await get(at);
		assert.equal(answer.status, 400);
		assert.equal(answer.headers['cache-control'], 'no-store');
		const problem = judge(at, answer);
		if (field)
			assert.ok(problem.errors.some(one => one.field === field || one.field.replace(/-\d+$/, '') === field), JSON.stringify(problem.errors));
	});

// ---- every notice ----

const keep = rows => rows.map(one => one.id).sort((a, b) => a - b);

await check('every notice, and what follows from the list', async () => {
	for (const row of all) {
		const answer = await get(row.url);
		assert.equal(answer.status, 200, row.url);
		const notice = judge(row.url, answer);
		const current = notice.revisions.at(-1);
		assert.deepEqual([notice.id, notice.number, notice.issuer, notice.kind, current.revision, current.title, current.force, current.issued, notice.cancelled?.on ?? null],
			[row.id, row.number, row.issuer, row.kind, row.revision, row.title, row.force, row.issued, row.cancelled_on], row.number);
	}
});

await check('the notes on every notice, with names for members only', async () => {
	let answers = 0, notes = 0;
	for (const row of all) {
		const at = `${row.url}/notes`;
		const open = judge(at, await get(at)), mine = judge(at, await get(at, bearer(token)));
		assert.equal(open.total, mine.total);
		for (const [i, note] of open.notes.entries()) {
			assert.deepEqual([note, ...note.answers].map(one => one.author), Array(1 + note.answers.length).fill('a member'));
			assert.notEqual(mine.notes[i].author, 'a member');
			assert.equal(mine.notes[i].text, note.text);
			assert.ok(note.answers.length <= note.answers_total);
			answers += note.answers.length;
		}
		open.notes.slice(1).forEach((one, i) => assert.ok(one.helped <= open.notes[i].helped, 'what helped more comes first'));
		const newest = judge(at, await get(`${at}?order=newest&limit=2`));
		assert.deepEqual(newest.notes.map(one => one.id), keep(open.notes).reverse().slice(0, 2));
		notes += open.total;
	}
	assert.ok(notes > 20 && answers > 5, `${notes} notes, ${answers} answers`);
	judge('/api/v1/notices/999999/notes', await get('/api/v1/notices/999999/notes'));
});

await check('no such notice: 404', async () => {
	for (const id of ['0', '999999', '-1', 'x', '1x', '1.5', '99999999999999999999', '%00', '1%20'])
		assert.ok([404, 400].includes((await get(`/api/v1/notices/${id}`)).status), id);
	judge('/api/v1/notices/999999', await get('/api/v1/notices/999999'));
});

const filters = [
	...['mandatory', 'recommended', 'optional'].map(force => [`force=${force}`, one => one.force === force]),
	...['service bulletin', 'service letter', 'safety directive', 'plans change', 'chapter advisory'].map(kind => [`kind=${encodeURIComponent(kind)}`, one => one.kind === kind]),
	...['2009', '2015', '2026', '1999'].map(year => [`year=${year}`, one => one.issued.startsWith(year)]),
	[`issuer=${encodeURIComponent(all[0].issuer)}`, one => one.issuer === all[0].issuer],
	[`part=${encodeURIComponent(all[5].number)}&kind=${encodeURIComponent(all[5].kind)}`, null],
];

for (const [query, holds] of filters)
	await check(`filter ${query}`, async () => {
		const found = JSON.parse((await get(`/api/v1/notices?limit=500&${query}`)).text);
		assert.equal(found.total, found.notices.length);
		if (holds)
			assert.deepEqual(keep(found.notices), keep(all.filter(holds)));
		else
			assert.ok(found.notices.some(one => one.id === all[5].id), 'a part number finds its notice');
	});

await check('orders', async () => {
	const ordered = async order => JSON.parse((await get(`/api/v1/notices?limit=500&order=${order}`)).text).notices;
	const issued = await ordered('issued'), force = await ordered('force');
	const rank = { mandatory: 0, recommended: 1, optional: 2 };
	issued.slice(1).forEach((one, i) => assert.ok(one.issued.slice(0, 7) <= issued[i].issued.slice(0, 7), `${issued[i].issued} then ${one.issued}`));
	force.slice(1).forEach((one, i) => assert.ok(rank[one.force] >= rank[force[i].force]));
	assert.deepEqual(keep(await ordered('number')), keep(all));
});

// ---- RFC 8288 ----

// Links of a header as { rel: target }.
function links(header) {
	return Object.fromEntries((header ?? '').split(/,\s*(?=<)/).filter(Boolean).map(one => {
		const [, target, rel] = /^<([^>]*)>;\s*rel="([^"]+)"$/.exec(one) ?? assert.fail(`no link: ${one}`);
		return [rel, target];
	}));
}

const walks = [
	...[1, 7, 25, 100, 500].map(limit => [`/api/v1/notices?limit=${limit}`, {}, all.length]),
	['/api/v1/notices', {}, all.length],
	['/api/v1/notices?limit=3&force=mandatory&q=a', {}, null],
	['/api/v1/notices?limit=3&q=%22%3E%3Cscript%3E', {}, 0],
	['/api/v1/check?model=Whimbrel&limit=10', {}, all.length],
	['/api/v1/check?model=Whimbrel%20T&option=a%20%26%20b&standing=open&limit=4', {}, null],
	[`/api/v1/kits/${kit}/standings?limit=9`, bearer(token), all.length],
];

for (const [start, headers, count] of walks)
	await check(`following next from ${start} meets every one once`, async () => {
		const seen = [];
		const back = [];
		let at = start, last, total;
		while (at) {
			const answer = await get(at, headers);
			const value = judge(at, answer);
			const link = links(answer.headers.link);
			const page = (value.notices ?? value.standings.map(one => one.notice)).map(one => one.id);
			seen.push(...page);
			back.push(page);
			total = value.total;
			assert.ok(link.first && link.last, 'first and last');
			assert.equal(!link.prev, back.length === 1, 'prev from the second page on');
			if (last)
				assert.equal(link.last, last);
			last = link.last;
			assert.ok(back.length < 1000, 'the pages do not end');
			at = link.next;
			if (!at) {
				const end = await get(last, headers);
				assert.deepEqual((JSON.parse(end.text).notices ?? JSON.parse(end.text).standings.map(one => one.notice)).map(one => one.id), page);
			}
		}
		assert.equal(seen.length, total);
		assert.equal(new Set(seen).size, seen.length, 'one came twice');
		if (count !== null)
			assert.equal(total, count);
	});

// ---- RFC 9110 ----

const readable = ['/api/v1/notices', '/api/v1/notices?q=spar', '/api/v1/notices/1', '/api/v1/check?model=Whimbrel', '/api/v1/openapi.json'];

for (const at of readable)
	await check(`ETag and 304 of ${at}`, async () => {
		const first = await get(at);
		const etag = first.headers.etag;
		assert.match(etag, /^(W\/)?"[\x21\x23-\x7e]*"$/);
		assert.match(first.headers['cache-control'], /^public, max-age=\d+/);
		assert.equal((await get(at)).headers.etag, etag, 'the tag changes without a change');
		for (const list of [etag, `W/${etag}`, `"other", ${etag}`, `"other",W/"more" , W/${etag}, "last"`, '*', `"a,b", ${etag}`]) {
			const answer = await get(at, { 'If-None-Match': list });
			assert.equal(answer.status, 304, list);
			assert.equal(answer.bytes.length, 0);
			assert.equal(answer.headers.etag, etag, list);
			assert.equal(answer.headers['cache-control'], first.headers['cache-control'], 'RFC 9110 15.4.5');
		}
		for (const list of ['"other"', etag.slice(1, -1), etag.slice(0, -1), `"${etag}"`, 'W/"other"', '', `x${etag}`]) {
			const answer = await get(at, { 'If-None-Match': list });
			assert.equal(answer.status, 200, list);
			assert.equal(answer.text, first.text);
		}
	});

await check('tags differ where answers differ, and of private answers too', async () => {
	const tags = new Set();
	for (const at of readable)
		tags.add((await get(at)).headers.etag);
	assert.equal(tags.size, readable.length);
	const at = `/api/v1/kits/${kit}/standings`;
	const mine = await get(at, bearer(token));
	assert.equal((await get(at, { ...bearer(token), 'If-None-Match': mine.headers.etag })).status, 304);
	assert.equal((await get(at, { ...bearer(otherToken), 'If-None-Match': mine.headers.etag })).status, 404);
	assert.equal((await get(at, { 'If-None-Match': '*' })).status, 401);
	assert.match(mine.headers.vary, /Authorization/i);
});

await check('HEAD answers as GET without the content', async () => {
	for (const at of [...readable, '/api/v1/notices/999999', '/api/v1/notices?year=x', '/', '/notices', '/nowhere']) {
		const [head, whole] = [await request(server.url + at, { method: 'HEAD' }), await get(at)];
		assert.equal(head.status, whole.status, at);
		assert.equal(head.bytes.length, 0);
		for (const name of ['etag', 'content-type', 'cache-control', 'link', 'content-length', 'vary'])
			assert.equal(head.headers[name], whole.headers[name], `${name} of ${at}`);
	}
});

await check('no method that writes exists below /api', async () => {
	const before = dump(data);
	const addresses = paths.map(at => at.replace('{kit}', kit).replace('{notice}', '1').replace('{report}', '1'));
	for (const at of [...addresses, '/api/', '/api/v1', '/api/v1/', '/api/v2/notices', '/api/v1/kits', `/api/v1/kits/${kit}`])
		for (const method of ['POST', 'PUT', 'PATCH', 'DELETE', 'OPTIONS', 'PROPFIND']) {
			const answer = await request(server.url + at, { method, body: method === 'OPTIONS' ? undefined : 'a=b',
				headers: { ...bearer(token), 'Content-Type': 'application/x-www-form-urlencoded' } });
			if (addresses.includes(at)) {
				assert.equal(answer.status, 405, `${method} ${at}`);
				assert.equal(answer.headers.allow, 'GET, HEAD', `${method} ${at}`);
			} else
				assert.ok([404, 405].includes(answer.status), `${method} ${at}: ${answer.status}`);
			assert.match(answer.headers['content-type'], /^application\/problem\+json/, `${method} ${at}`);
			assert.equal(JSON.parse(answer.text).status, answer.status);
		}
	assert.equal(dump(data), before);
});

await check('the server ends cleanly after all this', async () => assert.equal(await server.stop(), 0));
finish();
