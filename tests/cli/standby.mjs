// A box that stands by: it serves the newest whole copy, says of when that is, and
// changes nothing; a newer copy is taken up while it serves, a damaged one is not.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { folder, run, serve, sql } from '../support/fairlead.mjs';

const work = folder();
const at = name => path.join(work, name);
const copies = at('copies');
const copy = name => {
	const done = run(['backup', '--unlisted', '--data', at('first'), path.join(copies, `fairlead-${name}.db`)]);
	assert.equal(done.code, 0, done.err);
};
const page = async (server, where, options = {}) => {
	const answer = await fetch(server.url + where, { redirect: 'manual', ...options });
	return { status: answer.status, headers: answer.headers, text: await answer.text() };
};
// Changed outside the program, and taken as it stands.
const rename = to => {
	sql(path.join(at('first'), 'fairlead.db'), `update settings set value = '${to}' where name = 'chapter';`);
	assert.equal(run(['reseal', '--data', at('first')]).code, 0);
};

// Asks as a monitor does, until the words are there: health makes the box look for copies.
async function until(server, words) {
	for (const ends = Date.now() + 60000; Date.now() < ends;) {
		await page(server, '/health');
		if ((await page(server, '/notices')).text.includes(words))
			return true;
	}
	return false;
}

fs.mkdirSync(copies);
const first = await serve(at('first'), ['--demo']);
await first.stop();

const empty = await serve(at('second'), ['--standby', copies]);
await check('before the first copy it serves, says so, and makes no first admin', async () => {
	const answer = await page(empty, '/notices');
	assert.equal(answer.status, 200);
	assert.match(answer.text, /as of never/);
	assert.equal(JSON.parse((await page(empty, '/health')).text).as_of, 'never');
	assert.equal(empty.lines.length, 1);
});
await empty.stop();

copy('2026-01-01T000000Z');
const second = await serve(at('second'), ['--standby', copies]);
await check('the newest copy is served from the start, with its time', async () => {
	const answer = await page(second, '/notices'), api = await page(second, '/api/v1/notices');
	const time = /as of (\d{4}-\d\d-\d\dT\d\d:\d\dZ)/.exec(answer.text)[1];
	assert.match(answer.text, /HB-2022-03/);
	assert.equal(answer.headers.get('as-of'), time);
	assert.equal(api.headers.get('as-of'), time);
	assert.equal(JSON.parse((await page(second, '/health')).text).as_of, time);
	assert.ok(JSON.parse(api.text).notices.length > 0);
});

await check('nothing can be changed, and the answer says where to go', async () => {
	for (const where of ['/sign-in', '/notices/1/notes', '/account/password', '/board/new']) {
		const answer = await page(second, where, { method: 'POST', body: new URLSearchParams({ text: 'x' }) });
		assert.equal(answer.status, 503, where);
		assert.match(answer.text, /stands by/);
		assert.equal(answer.headers.get('retry-after'), '60');
	}
});

await check('a newer copy is taken up while it serves', async () => {
	rename('Second thoughts');
	copy('2026-01-01T000100Z');
	assert.ok(await until(second, 'Second thoughts'));
});

await check('a copy that is not what its digest says is not, nor one that has not come whole', async () => {
	const bad = path.join(copies, 'fairlead-2026-01-01T000200Z.db');
	rename('Damaged on the way');
	copy('2026-01-01T000200Z');
	const bytes = fs.readFileSync(bad);
	bytes[bytes.length - 100] ^= 1;
	fs.writeFileSync(bad, bytes);
	fs.writeFileSync(path.join(copies, 'fairlead-2026-01-01T000300Z.db.part'), 'half');
	const told = /fairlead-2026-01-01T000200Z\.db is not taken up: it is not what its digest says/;
	for (const ends = Date.now() + 60000; Date.now() < ends && !told.test(second.errors);)
		await page(second, '/health');
	assert.match(second.errors, told);
	assert.match((await page(second, '/notices')).text, /Second thoughts/);
	rename('Whole again');
	copy('2026-01-01T000400Z');
	assert.ok(await until(second, 'Whole again'));
});

await check('it ends cleanly, and what it holds is sound', async () => {
	assert.equal(await second.stop(), 0);
	const done = run(['verify', '--data', at('second')]);
	assert.equal(done.code, 0, done.out + done.err);
});

finish();
