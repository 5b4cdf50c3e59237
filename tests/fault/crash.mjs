// The server is killed under writes of eight kinds (kits, facts, steps of the build
// line, notes, pictures, records, log, reports), again and again, and started anew
// on the same folder: what it had answered as kept must be there, and `verify` content.
//
//     BUILD=build node tests/fault/crash.mjs [KILLS]
//
// Six kills unless given. Kept means answered 303, as each form here is when it was
// taken. SIGKILL leaves what the kernel holds: of lost power test_power_loss.c tells.
import assert from 'node:assert/strict';
import { check, finish, generator } from '../support/check.mjs';
import { dump, folder, run, serve } from '../support/fairlead.mjs';
import { filled, signIn } from '../support/client.mjs';
import { png } from '../support/pictures.mjs';

const kills = Number(process.argv[2] ?? 6);
const seed = 20171;
const { below } = generator(seed);
// After so many kills a chapter has about as much as a member may make, and another is begun.
const chapterLasts = 12;
let data = folder();
const start = () => serve(data, ['--demo', '--behind-proxy']);
let server = await start();
const kit = (await (await signIn(server.url, 'builder')).open('/kits')).links.find(one => /^\/kits\/\d+$/.test(one));
const picture = png(32, 32);

// A form of a page, with some fields filled in otherwise. Its address and pairs.
async function fill(browser, at, action, values) {
	const form = (await browser.open(at)).form(action);
	return [form.action, [...filled(form).filter(([name]) => !(name in values)), ...Object.entries(values)], form.multipart];
}

// A step has no words to be marked with, but a day on which it was done.
const step = 'WNG-05';
const firstDay = Date.UTC(1901, 0, 1);
const day = 86400000;
const dayOf = mark => new Date(firstDay + Number(mark.slice(4)) * day).toISOString().slice(0, 10);
const markOf = number => `Mark${String(number).padStart(6, '0')}`;

// Each writes a mark of its own, to be found again in the database.
const kinds = {
	kit: (browser, mark) => fill(browser, '/kits', /^\/kits$/, { name: mark }),
	facts: (browser, mark) => fill(browser, `${kit}/facts`, /\/facts$/, { serial: mark }),
	steps: (browser, mark) => fill(browser, `${kit}/line`, /\/line$/, { done: step, on: dayOf(mark) }),
	note: (browser, mark) => fill(browser, '/notices/1', /^\/notices\/1\/notes$/, { text: `A note, ${mark}` }),
	picture: (browser, mark) => fill(browser, '/notices/2', /^\/notices\/2\/notes$/,
		// The same text twice is taken for the same note; the mark stands with the picture alone.
		{ text: `With picture number ${Number(mark.slice(4))}`, pictures: { filename: 'a.png', bytes: picture }, picture_words: mark }),
	record: (browser, mark) => fill(browser, `${kit}/notices/70/record`, /\/record$/, { line: '1', method: mark }),
	log: (browser, mark) => fill(browser, `${kit}/log`, /\/log$/, { event: mark }),
	report: (browser, mark) => fill(browser, '/reports/new', /^\/reports\/new$/,
		{ kit: kit.split('/')[2], title: mark, part: 'WH-4412-2', seen: 'A crack at the edge.', severity: 'work', credit: 'nobody', another: 'yes' }),
};
// A later one takes the place of these, so that only the last is looked for.
const replaced = new Set(['facts', 'steps']);

const each = make => Object.fromEntries(Object.keys(kinds).map(kind => [kind, make()]));
let kept = each(() => []); // in this chapter
const sent = each(() => '');
const acknowledged = each(() => 0); // in all
const refused = new Set();
let count = 0;

// One writer of a kind, until the server is gone.
async function write(kind, url, told) {
	try {
		const browser = await signIn(url, 'builder');
		for (;;) {
			const mark = markOf(++count);
			const [at, pairs, multipart] = await kinds[kind](browser, mark);
			sent[kind] = mark;
			const answer = await browser.post(at, pairs, { multipart });
			if (answer.status === 303) {
				kept[kind].push(mark);
				acknowledged[kind]++;
				told();
			} else {
				refused.add(`${kind}: ${answer.status} ${answer.text.replace(/<[^>]*>/g, ' ').replace(/\s+/g, ' ').slice(0, 900)}`);
				return;
			}
		}
	} catch (error) {
		if (server.process.signalCode === null && server.process.exitCode === null && !server.process.killed)
			refused.add(`${kind}: ${error}`);
	}
}

async function crash() {
	let left = 8 + below(40);
	await Promise.all(Object.keys(kinds).map(kind => write(kind, server.url, () => {
		if (--left === 0)
			server.kill('SIGKILL');
	})));
	assert.equal(server.process.killed, true, `the writers stopped before the kill: ${[...refused].join('\n')}`);
	await server.ended;
}

// The marks that are in the database.
function found() {
	const there = dump(data);
	const days = [...there.matchAll(new RegExp(`'${step}','${step}','([-0-9]{10})'`, 'g'))];
	return new Set([...there.match(/Mark\d{6}/g) ?? [], ...days.map(([, on]) => markOf((Date.parse(on) - firstDay) / day))]);
}

function lost() {
	const there = found();
	return Object.entries(kept).flatMap(([kind, marks]) => {
		const wanted = replaced.has(kind) ? marks.slice(-1) : marks;
		return wanted.filter(mark => !there.has(mark) && !(replaced.has(kind) && there.has(sent[kind])))
			.map(mark => `${kind} ${mark}`);
	});
}

async function another() {
	await server.stop();
	data = folder();
	kept = each(() => []);
	server = await start();
}

let missing = 0;
for (let n = 1; n <= kills; n++)
	await check(`kill ${n} of ${kills} (seed ${seed})`, async () => {
		if (n > 1 && n % chapterLasts === 1)
			await another();
		await crash();
		server = await start();
		const gone = lost();
		missing += gone.length;
		assert.deepEqual(gone, []);
		const done = run(['verify', '--data', data]);
		assert.equal(done.code, 0, done.err);
	});

await check('each kind was written', () => {
	for (const [kind, times] of Object.entries(acknowledged))
		assert.ok(times > 0, `${kind}: ${[...refused].join('\n')}`);
});
await server.stop();
console.log(`${kills} kills, ${Object.values(acknowledged).reduce((sum, times) => sum + times, 0)} acknowledged writes `
	+ `(${Object.entries(acknowledged).map(([kind, times]) => `${kind} ${times}`).join(', ')}), ${missing} lost`);
finish();
