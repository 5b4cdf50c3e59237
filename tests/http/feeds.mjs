// Feeds and calendars of the real server, read by programs that are not ours:
// xmllint with the grammar of RFC 4287 (atom.rng), feedparser; icalendar for
// Python, and ical.js. On the demonstration's notices, and on hostile words.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import ICAL from 'ical.js';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { Browser, signIn } from '../support/client.mjs';

const here = import.meta.dirname;
const kept = folder();
const server = await serve(folder(), ['--demo', '--behind-proxy']);
const visitor = new Browser(server.url);
const builder = await signIn(server.url, 'builder');
const admin = await signIn(server.url, 'admin');

const utf8 = bytes => new TextDecoder('utf-8', { fatal: true }).decode(bytes);

function tool(command, args) {
	const done = spawnSync(command, args, { encoding: 'utf8', maxBuffer: 1 << 26 });
	assert.equal(done.status, 0, `${command} ${args.join(' ')}: ${done.error ?? done.stderr}`);
	return done.stdout;
}

function save(name, bytes) {
	const file = path.join(kept, name);
	fs.writeFileSync(file, bytes);
	return file;
}

// ---- Atom ----

async function readFeed(browser, at) {
	const answer = await browser.request(at);
	assert.equal(answer.status, 200, at);
	assert.equal(answer.headers['content-type'], 'application/atom+xml; charset=utf-8');
	utf8(answer.bytes);
	const file = save('feed.xml', answer.bytes);
	tool('xmllint', ['--noout', '--nonet', '--relaxng', path.join(here, 'atom.rng'), file]);
	const feed = JSON.parse(tool('/usr/bin/python3', [path.join(here, 'feeds.py'), 'atom', file]));
	assert.equal(feed.version, 'atom10');
	assert.equal(feed.faults, '');
	// RFC 4287 section 4.1.1 and 4.2.6: no id comes twice; ids are IRIs.
	const ids = [feed.id, ...feed.entries.map(one => one.id)];
	assert.equal(new Set(ids).size, ids.length);
	for (const id of ids)
		assert.match(id, /^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
	return feed;
}

await check('the feed of notices is Atom', async () => {
	const feed = await readFeed(visitor, '/notices.atom');
	assert.equal(feed.entries.length, 50);
	assert.deepEqual(feed.links, [['self', `${server.url}/notices.atom`], ['alternate', `${server.url}/notices`]]);
	for (const one of feed.entries) {
		assert.match(one.summary, /Fairlead informs\./);
		assert.match(one.updated, /^\d{4}-\d\d-\d\dT/);
		assert.match(one.tags.join(), /^(mandatory|recommended|optional)$/);
	}
});

await check('each entry leads to its notice', async () => {
	const feed = await readFeed(visitor, '/notices.atom');
	for (const one of feed.entries.slice(0, 12)) {
		const page = await visitor.open(new URL(one.link).pathname);
		assert.equal(page.status, 200);
		assert.ok(page.words.includes(one.title.split(': ').slice(1).join(': ').trim()), `${one.title} at ${one.link}`);
	}
});

await check('a page of notices names the feed where readers look for it', async () => {
	const page = await visitor.open('/notices');
	assert.match(page.text, /<link rel="alternate" type="application\/atom\+xml" title="Notices" href="\/notices\.atom">/);
});

// ---- a member's addresses ----

async function makeAddresses(browser) {
	const page = await browser.submit((await browser.open('/account/links')).form(/^\/account\/links$/));
	const [feed] = /\/feed\/[A-Za-z0-9_-]{43}/.exec(page.words);
	const [calendar] = /\/calendar\/[A-Za-z0-9_-]{43}/.exec(page.words);
	return { feed, calendar };
}

const own = await makeAddresses(builder);

await check('a member\'s news are Atom', async () => {
	const feed = await readFeed(visitor, own.feed);
	assert.deepEqual(feed.links, [['alternate', `${server.url}/news`]], 'its own address is a secret');
});

// ---- iCalendar ----

// RFC 5545 section 3.1, by octets.
function assertLines(bytes) {
	assert.equal(bytes.subarray(-2).toString(), '\r\n');
	for (const line of bytes.toString('latin1').slice(0, -2).split('\r\n')) {
		assert.ok(line.length <= 75, `${line.length} octets: ${line}`);
		assert.ok(!/[\x00-\x08\x0a-\x1f\x7f]/.test(line), `a control character: ${line}`);
		utf8(Buffer.from(line, 'latin1'));
	}
}

function byIcalJs(text) {
	const [, , parts] = ICAL.parse(text);
	return parts.map(part => {
		const component = new ICAL.Component(part);
		const start = component.getFirstPropertyValue('dtstart');
		return {
			kind: component.name.toUpperCase(),
			uid: component.getFirstPropertyValue('uid'),
			day: start ? start.toString() : null,
			whole: !!start && start.isDate,
			summary: component.getFirstPropertyValue('summary'),
			description: component.getFirstPropertyValue('description'),
			url: component.getFirstPropertyValue('url'),
		};
	});
}

// icalendar 4.0.3 takes back one kind of escape after another, so that a backslash
// before n or , is lost to it; ical.js reads them as they are.
const alike = parts => parts.map(one => Object.fromEntries(Object.entries(one).map(([name, value]) =>
	[name, typeof value === 'string' ? value.replace(/\\[nN]/g, '\n').replaceAll('\\', '') : value])));

async function readCalendar(at) {
	const answer = await visitor.request(at);
	assert.equal(answer.status, 200, at);
	assert.equal(answer.headers['content-type'], 'text/calendar; charset=utf-8');
	assertLines(answer.bytes);
	const python = JSON.parse(tool('/usr/bin/python3', [path.join(here, 'feeds.py'), 'calendar', save('dates.ics', answer.bytes)]));
	assert.equal(python.version, '2.0');
	assert.deepEqual(python.faults, []);
	const read = byIcalJs(utf8(answer.bytes));
	assert.deepEqual(alike(python.components.map(({ stamp, ...one }) => one)), alike(read), 'two programs read the same');
	assert.equal(new Set(read.map(one => one.uid)).size, read.length);
	const events = read.filter(one => one.kind === 'VEVENT');
	for (const one of events) {
		assert.ok(one.whole, one.summary);
		assert.match(one.summary, /^(Due|Overdue|Estimate, due|Estimate, last good moment): /);
		assert.match(one.description, /Fairlead informs\./);
	}
	assert.deepEqual(read.filter(one => one.kind !== 'VEVENT').map(one => one.kind), ['VJOURNAL']);
	return events;
}

await check('a member\'s calendar is iCalendar, and its events lead to their notices', async () => {
	const events = await readCalendar(own.calendar);
	console.log(`  ${events.length} events: ${['Due', 'Overdue', 'Estimate, due', 'Estimate, last good moment']
		.map(lead => `${lead} ${events.filter(one => one.summary.startsWith(`${lead}: `)).length}`).join('; ')}`);
	assert.ok(events.length > 0);
	for (const one of events)
		assert.equal((await builder.request(new URL(one.url).pathname)).status, 200, one.url);
});

// ---- hostile words ----

const hostile = [
	']]> & < > " \' &amp; <!-- --> <![CDATA[x]]> <?xml?>',
	'Emoji \u{1f6e9}\ufe0f\u{1f469}\u{1f3fd}\u200d\u{1f527} \u{1f1e9}\u{1f1ea}',
	'\u00e9'.repeat(190),
	'\u{1f6e9}'.repeat(180),
	'Back\\slash, comma; semicolon: colon \\n \\N \\, "quoted"',
	'END:VEVENT',
	'A non-character \ufffe\uffff of XML',
	'e\u0301'.repeat(95),
];
const said = text => text.replace(/[\ufffe\uffff]/g, '');
const problem = 'One.\r\nTwo,\n\nthree;\tfour\rfive \\ six\nEND:VCALENDAR\n' + '\u20ac'.repeat(500);

await check('hostile notices are taken in', async () => {
	const notices = hostile.map((title, i) => ({ number: `QA-${i}`, issuer: `Harrowfen & <Co> ${i}`, kind: 'service bulletin',
		revisions: [{ revision: '', issued: '2026-01-02', title, problem, action: '1. Look.', force: 'mandatory', effectivity: 'all', due: 'by 2027-01-31' }] }));
	const bytes = Buffer.from(JSON.stringify({ format: 'fairlead notices 1', notices }));
	const form = (await admin.open('/board/import')).form(/^\/board\/import$/);
	const file = form.fields.find(one => one.type === 'file').name;
	const page = await admin.submit(form, { [file]: { filename: 'n.json', bytes } });
	assert.ok(page.status < 400, page.words);
	assert.equal((await visitor.open('/notices?q=QA-0')).status, 200);
	const kit = (await builder.open('/kits')).links.find(one => /^\/kits\/\d+$/.test(one));
	await builder.submit((await builder.open(`${kit}/name`)).form(/\/name$/), { name: 'Blue, one; \\n ]]> <b>&' });
});

await check('no hostile title breaks the feed, and each arrives as it was', async () => {
	const feed = await readFeed(visitor, '/notices.atom');
	for (const [i, title] of hostile.entries()) {
		const entry = feed.entries.find(one => one.title.startsWith(`QA-${i}:`));
		assert.equal(entry.title, `QA-${i}: ${said(title)}`);
		assert.ok(entry.summary.includes('END:VCALENDAR'));
	}
});

await check('no hostile title breaks the calendar, and each arrives as it was', async () => {
	const events = await readCalendar(own.calendar);
	for (const [i, title] of hostile.entries()) {
		const found = events.filter(one => one.summary.startsWith(`Due: QA-${i} `));
		assert.ok(found.length > 0);
		for (const one of found) {
			assert.ok(one.summary.startsWith(`Due: QA-${i} ${title} (`), one.summary);
			assert.equal(one.day, '2027-01-31');
		}
	}
	assert.ok(events.some(one => one.summary.endsWith('(Blue, one; \\n ]]> <b>&)')));
});

await check('addresses that are ended answer nothing', async () => {
	const next = await makeAddresses(builder);
	assert.equal((await visitor.request(own.calendar)).status, 404);
	assert.equal((await visitor.request(own.feed)).status, 404);
	assert.equal((await visitor.request(next.calendar)).status, 200);
	await builder.submit((await builder.open('/account/links')).form(/\/end$/));
	assert.equal((await visitor.request(next.feed)).status, 404);
});

await check('no address reaches the log', async () => {
	assert.equal(await server.stop(), 0);
	assert.ok(!server.errors.includes(own.feed.slice(6)) && !server.lines.join('\n').includes(own.feed.slice(6)));
});
finish();
