// Mail through a real server (Debian's aiosmtpd on a free port): the question, a
// mandatory notice, restarts, answers of every kind, the program killed in the
// middle. What arrives is read with Python's email package.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import readline from 'node:readline';
import { spawn } from 'node:child_process';
import { check, finish } from '../support/check.mjs';
import { folder, root, run, serve, sql } from '../support/fairlead.mjs';
import { Browser, join, makeKit, signIn } from '../support/client.mjs';

const DEADLINE = 60000;
const site = 'https://fairlead.example';

// ---- the mail server ----

const smtp = spawn('/usr/bin/python3', [path.join(root, 'tests/support/smtp.py')], { stdio: ['pipe', 'pipe', 'inherit'] });
process.on('exit', () => smtp.kill());
const events = [];
let waiting;
readline.createInterface({ input: smtp.stdout }).on('line', line => {
	events.push(JSON.parse(line));
	waiting?.();
});
const tell = what => smtp.stdin.write(JSON.stringify(what) + '\n');

// The first event from the nth on that fits, once it is there.
async function event(from, fits, what) {
	const late = new Promise((_, reject) => setTimeout(() => reject(new Error(`no ${what} came; ${JSON.stringify(events.slice(from).map(one => one.at))}`)), DEADLINE).unref());
	for (let at = from; ; at++) {
		while (at >= events.length)
			await Promise.race([new Promise(resolve => (waiting = resolve)), late]);
		if (fits(events[at]))
			return events[at];
	}
}
const { port } = await event(0, one => one.port, 'port');
const mails = () => events.filter(one => one.at === 'data');
const nextMail = from => event(from, one => one.at === 'data', 'mail');
const field = (mail, name) => mail.fields.find(([one]) => one === name)?.[1].trim();
const linkIn = (mail, what) => new RegExp(`${site}(/mail/${what}/[A-Za-z0-9_-]{43})`).exec(mail.text)?.[1];

// ---- the box ----

const work = folder();
const data = path.join(work, 'data');
const ask = text => sql(path.join(data, 'fairlead.db'), `.timeout 20000\n${text}`);
const options = ['--demo', '--mail', `smtp://127.0.0.1:${port}`, '--mail-from', 'box@example.org', '--url', site];
let server = await serve(data, options);
// Cookies are of the address that --url says, requests go to this one.
const again = browser => Object.assign(browser, { url: server.url });
async function restart(more = options) {
	await server.stop();
	server = await serve(data, more);
	[admin, ann, visitor].forEach(again);
}
let admin = await signIn(server.url, 'admin');
let ann = await join(admin, 'wilma');
let visitor = new Browser(server.url);
await makeKit(ann, 'Winter kit', { model: 'Whimbrel', serial: 'WH-0371' });

// A request that writes wakes the rounds.
async function wake() {
	const page = await ann.open('/account');
	await ann.submit(page.form(/^\/account$/), { name: 'Wilma' });
}
async function setAddress(address) {
	const page = await ann.open('/account/mail');
	return await ann.submit(page.form(/^\/account\/mail$/), { address });
}
const outbox = () => ask('select kind, state from outbox order by id;').split('\n');
// What the database says, once it says so; it is asked when something has happened.
async function settled(wanted, why) {
	const end = Date.now() + DEADLINE;
	let is;
	do {
		is = outbox();
		if (JSON.stringify(is) === JSON.stringify(wanted))
			return;
		await ann.request('/account/mail');
	} while (Date.now() < end);
	assert.deepEqual(is, wanted, why);
}
const QUESTION = 0, AT_ONCE = 1;
const WAITING = 0, SENT = 2, GIVEN_UP = 3, UNSURE = 4;
const row = (kind, state) => `${kind}|${state}`;

// Publishes a mandatory notice that concerns every kit.
let published = 0;
async function publish() {
	const number = `HF-SB-9${++published}`;
	const file = path.join(work, 'notice.json');
	fs.writeFileSync(file, JSON.stringify({ format: 'fairlead notices 1', notices: [{ number, issuer: 'Harrowfen Aircraft',
		kind: 'service bulletin', revisions: [{ revision: '', issued: '2026-01-05', title: 'Elevator tube ½ mm thin', force: 'mandatory',
			effectivity: 'all', problem: 'It can rub.', action: 'Fit the bronze tube.', compliance: 'Before the next flight.' }] }] }));
	const done = run(['import', file, '--data', data]);
	assert.equal(done.code, 0, done.err);
	await wake();
	return number;
}

// ---- the question ----

await check('mail is off without --mail, and the page says so', async () => {
	await restart(['--demo', '--url', site]);
	assert.match((await ann.open('/account/mail')).words, /Mail is not set up on this box/);
	assert.match((await admin.open('/admin/mail')).words, /Mail is not set up on this box/);
	await restart();
	assert.match((await admin.open('/admin/mail')).words, /smtp:\/\/127\.0\.0\.1/);
});

let stop;
await check('an address is asked, and confirmed by the button behind the link', async () => {
	const page = await setAddress('wilma@example.org');
	assert.match(page.words, /on its way/);
	const mail = await nextMail(0);
	assert.deepEqual([mail.sender, mail.to, mail.defects], ['box@example.org', ['wilma@example.org'], []]);
	assert.equal(field(mail, 'Subject'), 'Is this your address?');
	assert.equal(field(mail, 'Auto-Submitted'), 'auto-generated');
	assert.match(field(mail, 'Message-ID'), /^<\S+@example\.org>$/);
	const link = linkIn(mail, 'confirm');
	assert.ok(link, mail.text);
	await visitor.open(link);
	assert.match((await ann.open('/account/mail')).words, /not confirmed yet/);
	const confirmed = await visitor.submit((await visitor.open(link)).form(/./));
	assert.equal(confirmed.status, 200);
	assert.match((await ann.open('/account/mail')).words, /What comes/);
	assert.equal((await visitor.open(link)).status, 404);
	for (const name of fs.readdirSync(data))
		assert.ok(!fs.readFileSync(path.join(data, name)).includes(link.split('/')[3]), `the token is in ${name}`);
	await settled([row(QUESTION, SENT)]);
});

// ---- news ----

await check('a mandatory notice is mailed once', async () => {
	const from = events.length;
	const number = await publish();
	const mail = await nextMail(from);
	assert.deepEqual(mail.defects, []);
	assert.deepEqual(mail.to, ['wilma@example.org']);
	assert.match(field(mail, 'Subject'), new RegExp(`^Mandatory: ${number}: Elevator tube ½ mm thin`));
	assert.match(mail.text, /MANDATORY, for the kit Winter kit/);
	assert.match(mail.text, new RegExp(`${site}/kits/\\d+/notices/\\d+`));
	assert.match(mail.text, /licensed inspector decide/);
	stop = linkIn(mail, 'stop');
	assert.ok(stop, mail.text);
	assert.equal(field(mail, 'List-Unsubscribe'), `<${site}${stop}>`);
	assert.equal(field(mail, 'List-Unsubscribe-Post'), 'List-Unsubscribe=One-Click');
	assert.equal((await ann.open(/https:\/\/[^/]+(\/kits\/\S+)/.exec(mail.text)[1])).status, 200);
	await settled([row(QUESTION, SENT), row(AT_ONCE, SENT)]);
});

await check('after a restart nothing is sent again', async () => {
	const before = mails().length;
	await restart();
	await wake();
	// Another member's question goes out after all that waited before it.
	const from = events.length;
	const other = await join(admin, 'otto');
	await other.submit((await other.open('/account/mail')).form(/^\/account\/mail$/), { address: 'otto@example.org' });
	assert.deepEqual((await nextMail(from)).to, ['otto@example.org']);
	assert.equal(mails().length, before + 1);
	ask('pragma foreign_keys = on; delete from members where login = \'otto\';');
});

// An hour later, as far as the database knows.
const anHourLater = () => ask('update outbox set made_at = made_at - 4000, next_at = 0;');

await check('451: it is tried again, and arrives once', async () => {
	anHourLater();
	tell({ data: ['451 4.3.0 later'] });
	let from = events.length;
	await publish();
	assert.match((await nextMail(from)).answer, /^451/);
	await settled([row(QUESTION, SENT), row(AT_ONCE, SENT), row(AT_ONCE, WAITING)]);
	assert.match((await admin.open('/admin/mail')).words, /451 4\.3\.0 later/);
	const first = field(mails().at(-1), 'Message-ID');
	from = events.length;
	ask('update outbox set next_at = 0;');
	await wake();
	const mail = await nextMail(from);
	assert.match(mail.answer, /^250/);
	assert.equal(field(mail, 'Message-ID'), first);
	await settled([row(QUESTION, SENT), row(AT_ONCE, SENT), row(AT_ONCE, SENT)]);
});

await check('550: it is given up and told to the admin, who may try again', async () => {
	anHourLater();
	tell({ rcpt: ['550 5.1.1 no such user'] });
	let from = events.length;
	await publish();
	await event(from, one => one.at === 'rcpt', 'recipient');
	await settled([row(QUESTION, SENT), row(AT_ONCE, SENT), row(AT_ONCE, SENT), row(AT_ONCE, GIVEN_UP)]);
	const page = await admin.open('/admin/mail');
	assert.match(page.words, /550 5\.1\.1 no such user/);
	from = events.length;
	await admin.submit(page.form(/again$/));
	assert.match(field(await nextMail(from), 'Subject'), /^Mandatory/);
	await settled([row(QUESTION, SENT), ...Array(3).fill(row(AT_ONCE, SENT))]);
});

await check('a connection that ends after the data leaves it unsure, and it is not sent again', async () => {
	anHourLater();
	tell({ data: ['close'] });
	const from = events.length;
	await publish();
	await nextMail(from);
	const wanted = [row(QUESTION, SENT), ...Array(3).fill(row(AT_ONCE, SENT)), row(AT_ONCE, UNSURE)];
	await settled(wanted);
	const before = mails().length;
	anHourLater();
	await restart();
	await wake();
	await settled(wanted);
	assert.equal(mails().length, before);
	assert.match((await admin.open('/admin/mail')).words, /unsure/);
});

// ---- killed ----

for (const [stage, want] of [['rcpt', 'before the message'], ['data', 'before the answer'], ['done', 'after the answer']])
	await check(`killed ${want}: never twice`, async () => {
		ask('delete from outbox;');
		if (stage !== 'done')
			tell({ hold: stage });
		const from = events.length;
		await publish();
		await event(from, one => one.at === stage, stage);
		server.kill('SIGKILL');
		await server.ended;
		tell({ go: 1 });
		server = await serve(data, options);
		[admin, ann, visitor].forEach(again);
		await wake();
		const is = outbox();
		assert.ok(is.length === 1 && (is[0] === row(AT_ONCE, UNSURE) || (stage === 'done' && is[0] === row(AT_ONCE, SENT))), `${is}`);
		ask('update outbox set next_at = 0;');
		await restart();
		await wake();
		assert.deepEqual(outbox(), is);
		assert.ok(events.slice(from).filter(one => one.at === 'data').length <= 1);
	});

// ---- stop ----

await check('one click stops it, without a session and from anywhere (RFC 8058)', async () => {
	ask('delete from outbox;');
	const from = events.length;
	await publish();
	const mail = await nextMail(from);
	await settled([row(AT_ONCE, SENT)]);
	const link = linkIn(mail, 'stop');
	assert.equal((await visitor.open(link)).status, 200);
	assert.equal(ask('select at_once from mail_addresses;'), '1');
	for (const multipart of [false, true]) {
		const answer = await new Browser(server.url).post(link, [['List-Unsubscribe', 'One-Click']],
			{ multipart, headers: { Origin: 'https://mail.example', 'Sec-Fetch-Site': 'cross-site' } });
		assert.equal(answer.status, 200);
	}
	assert.equal(ask('select at_once or weekly from mail_addresses;'), '0');
	ask('delete from outbox;');
	await publish();
	const later = events.length;
	await setAddress('wilma2@example.org');
	const next = await nextMail(later);
	assert.equal(field(next, 'Subject'), 'Is this your address?', 'news was mailed after the stop');
});

await check('nobody named in the log', async () => {
	assert.equal(await server.stop(), 0);
	assert.doesNotMatch(server.errors, /wilma|example\.org/);
});
finish();
