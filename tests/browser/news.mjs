// Journeys of news: a notice that concerns one kit and not another, answers and
// findings, kits that are shown and what is pointed out to their builders,
// addresses for programs, and mail that is not set up. Each with scripts and
// without, in a phone's window.
import assert from 'node:assert/strict';
import { finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { join, makeKit, signIn } from '../support/client.mjs';
import { fill, follow, goes, journey, none, press, pressIn, sees, seesNot, unfold, words } from './person.mjs';
import { launch, openWindow } from './screen.mjs';

const chrome = await launch();
const newsCount = async window => Number((await window.locator('nav.drawer .count').allInnerTexts())[0]?.match(/\d+/)?.[0] ?? 0);

// News are kept a moment after what they tell of: a reader looks again.
async function comes(window, pattern) {
	const end = Date.now() + 20000;
	do
		await goes(window, '/news');
	while (!(pattern.test(await words(window)) && await newsCount(window) > 0) && Date.now() < end);
	await sees(window, pattern);
	return newsCount(window);
}

const rowOf = (window, text) => window.locator('main ul.rows > li').filter({ hasText: text }).first();

async function allRead(window) {
	await goes(window, '/news');
	if (!await window.locator('main').getByRole('button', { name: 'All read' }).count())
		return;
	await press(window, 'All read');
	await sees(window, /Marked as read/);
	await sees(window, /You have seen these/i);
	assert.equal(await newsCount(window), 0, 'the drawer still counts what was read');
}

// ---- a notice ----

async function publish(first, second, number, title, statement) {
	await goes(first, '/board/new');
	await fill(first, 'Number', number);
	await fill(first, 'Issuer', 'Harrowfen Aircraft');
	await fill(first, 'Issued', '2026-06-01');
	await fill(first, 'Title', title);
	await fill(first, 'What to do', '1. Look for wear.');
	await fill(first, /^What is wrong/, 'The line rubs.');
	await first.locator('[name=kind]').selectOption('service letter');
	await first.locator('[name=force]').selectOption('mandatory');
	await fill(first, 'Effectivity statement', statement);
	await press(first, 'Save the draft');
	const draft = /\/board\/drafts\/\d+/.exec(first.url())[0];
	await press(first, 'Save, then to the check sheet');
	await press(first, 'Hand it over for checking');
	await goes(second, `${draft}/check`);
	for (const box of await second.locator('main form#form input[type=checkbox]').all())
		await box.check();
	await press(second, 'Publish to the chapter');
	await sees(second, /Published\./);
}

async function concernsOne(ann, ben) {
	assert.equal(await comes(ann, /QA-2026-8/), 1);
	await sees(ann, /Ann's kit[^]*QA-2026-8[^]*Chafe of the brake line/i);
	assert.match(await rowOf(ann, 'QA-2026-8').innerText(), /new/i);
	assert.match(await rowOf(ann, 'QA-2026-8').getAttribute('class'), /mandatory/);
	await goes(ben, '/news');
	await seesNot(ben, /QA-2026-8/);
	assert.equal(await newsCount(ben), 0);
	await goes(ben, '/notices?q=QA-2026-8');
	await sees(ben, /Chafe of the brake line/);
}

async function leadsToTheKit(ann) {
	await goes(ann, '/news');
	await Promise.all([ann.waitForNavigation(), rowOf(ann, 'QA-2026-8').locator('a.do').click()]);
	assert.match(ann.url(), /\/kits\/\d+\/notices\/\d+/);
	await sees(ann, /Applies because|Record work/);
	await ann.goBack();
	await sees(ann, /QA-2026-8/);
}

async function readOnce(ann) {
	await goes(ann, '/notices');
	assert.equal(await newsCount(ann), 1, 'opening the page marked the news as read');
	await allRead(ann);
	await goes(ann, '/news');
	await sees(ann, /QA-2026-8/);
	await seesNot(ann, /All read/);
}

// ---- answers ----

async function note(window, at, text) {
	await goes(window, at);
	const form = await unfold(window, 'Add a note');
	await form.getByLabel('Note', { exact: true }).fill(text);
	await pressIn(window, form, 'Add the note');
	return /#note-(\d+)/.exec(window.url())[1];
}

async function answerNote(window, id, text) {
	await goes(window, `/notes/${id}/answer`);
	await fill(window, /^(Answer|Note)/, text);
	await press(window, 'Answer');
}

async function report(window, title) {
	await goes(window, '/reports/new');
	await fill(window, /^What it is/, title);
	await fill(window, /^What was seen/, 'The paint of frame three came off in flakes.');
	await window.locator('#severity label').last().click();
	await press(window, 'Report it');
	if (await window.locator('main').getByLabel(/It is another thing/).count()) {
		await window.locator('main').getByLabel(/It is another thing/).check();
		await press(window, 'Report it');
	}
	return /\/reports\/\d+/.exec(window.url())[0];
}

async function find(window, at, kit, answer) {
	await goes(window, at);
	const form = await unfold(window, kit);
	await form.getByText(answer, { exact: true }).click();
	await form.getByLabel('Remark', { exact: true }).fill('Flakes here as well');
	await pressIn(window, form, 'Answer');
}

// ---- kits under way ----

async function show(window, kit) {
	await goes(window, kit);
	await press(window, 'Let others see it');
	await follow(window, 'under way');
	await sees(window, /This is your kit as other members see it/);
	await seesNot(window, /WH-0333/);
	return /\/under-way\/\d+/.exec(window.url())[0];
}

async function pointOut(window, number) {
	await goes(window, '/kits');
	await follow(window, 'Kits under way');
	await fill(window, /^Name, model or builder/, "Ann's");
	await press(window, 'Search');
	await Promise.all([window.waitForNavigation(), rowOf(window, "Ann's kit").locator('a.to').click()]);
	await sees(window, /Have you seen this\?/);
	await seesNot(window, /WH-0333/);
	const shown = /\/under-way\/\d+/.exec(window.url())[0];
	await goes(window, `/notices?q=${number}`);
	await follow(window, new RegExp(number));
	await follow(window, 'Point it out to a builder');
	await Promise.all([window.waitForNavigation(), rowOf(window, "Ann's kit").locator('a.to').click()]);
	await press(window, 'Point it out');
	await sees(window, /Not taken yet/);
	await fill(window, /^What you saw coming/, 'Before you close the wing: look at this one.');
	await press(window, 'Point it out');
	await sees(window, /Pointed out\. The builder finds it among the news/);
	return shown;
}

// ---- addresses for programs ----

async function makeAddresses(window) {
	await goes(window, '/account');
	await follow(window, /^News and dates/);
	await press(window, /^Make (my|new) addresses/);
	await sees(window, /they are shown this once/);
	const made = await window.locator('main p.statement').allInnerTexts();
	assert.equal(made.length, 2);
	return made.map(one => new URL(one.trim()).pathname);
}

async function readAddresses(visitor, [feed, calendar]) {
	const news = await visitor.request.get(feed), dates = await visitor.request.get(calendar);
	assert.equal(news.status(), 200);
	assert.match(news.headers()['content-type'], /^application\/atom\+xml/);
	assert.match(await news.text(), /QA-2026-8/);
	assert.equal(dates.status(), 200);
	assert.match(dates.headers()['content-type'], /^text\/calendar/);
	assert.match(await dates.text(), /^BEGIN:VCALENDAR\r\n/);
}

async function areGone(visitor, addresses) {
	for (const at of addresses)
		assert.equal((await visitor.request.get(at)).status(), 404, at.slice(0, 20));
}

async function news(scripts) {
	const server = await serve(folder(), ['--demo', '--behind-proxy']);
	const how = scripts ? 'with scripts' : 'without scripts';
	const admin = await signIn(server.url, 'admin');
	const open = async session => openWindow(chrome, server.url, { session, javaScriptEnabled: scripts });
	// The demonstration's own newest report is told first: kits that come later have no part in it.
	await comes(await open(await signIn(server.url, 'builder')), /Nutplates of the tank covers/);
	const people = {}, kits = {};
	for (const [login, kit, facts] of [['ann', "Ann's kit", { model: 'Whimbrel', serial: 'WH-0333' }],
		['ben', "Ben's kit", { model: 'Whimbrel T', serial: 'WT-0333' }], ['cat', "Cat's kit", { model: 'Whimbrel', serial: 'WH-0334' }]]) {
		const session = await join(admin, login);
		kits[login] = await makeKit(session, kit, facts);
		people[login] = await open(session);
	}
	const { ann, ben, cat } = people;
	const first = await open(await signIn(server.url, 'steward')), second = await open(await join(admin, 'wilma', 'steward'));
	const visitor = await open(), boss = await open(admin);
	let id, fault, shown, addresses;

	await journey(`news, ${how}`, [
		['a new kit brings no old news', async () => {
			await goes(ann, '/news');
			await sees(ann, /Nothing is new for you/);
			assert.equal(await newsCount(ann), 0);
		}],
		['a mandatory notice is published', () => publish(first, second, 'QA-2026-8', 'Chafe of the brake line at rib 2', 'model Whimbrel\nserial WH-0333')],
		['it is news for the kit that it concerns, and for no other', () => concernsOne(ann, ben)],
		['the news lead to what to do, and back', () => leadsToTheKit(ann)],
		['they stay new until they are called read', () => readOnce(ann)],
		['an answer to a note is news for its author', async () => {
			id = await note(ann, '/step?model=Whimbrel&code=EMP-07', 'Clamp the jig at this step');
			await answerNote(ben, id, 'With two clamps, not one');
			assert.equal(await comes(ann, /With two clamps|Answer|answered/i), 1);
			await sees(ann, /Member ben/);
		}],
		['a fault reported is news for kits like it', async () => {
			fault = await report(ann, 'Paint of frame three flakes');
			await comes(cat, /Paint of frame three flakes/);
			await goes(ben, '/news');
			await seesNot(ben, /Paint of frame three flakes/);
		}],
		['a finding on it is news for who reported it', async () => {
			await allRead(ann);
			await find(cat, fault, "Cat's kit", 'found it');
			await comes(ann, /Paint of frame three flakes/);
			await sees(ann, /found it/i);
		}],
		['no page complained', () => [ann, ben, cat, first, second].forEach(none)],
	]);
	await journey(`kits under way, ${how}`, [
		['nobody sees a kit that is not shown', async () => {
			await goes(ben, '/under-way');
			await seesNot(ben, /Ann's kit/);
		}],
		['its builder shows it', async () => (shown = await show(ann, kits.ann))],
		['another points a notice out', async () => {
			await allRead(ann);
			assert.equal(await pointOut(ben, 'HB-2015-01'), shown);
		}],
		['the builder reads it among the news', async () => {
			assert.equal(await comes(ann, /Before you close the wing: look at this one/), 1);
			await sees(ann, /HB-2015-01[^]*Member ben/);
		}],
		['shown no more, it is gone', async () => {
			await goes(ann, kits.ann);
			await press(ann, 'Show it no more');
			assert.equal((await goes(ben, shown)).status(), 404);
		}],
		['no page complained', () => [ann, ben].forEach(none)],
	]);
	await journey(`addresses for programs, ${how}`, [
		['are made, and read without signing in', async () => readAddresses(visitor, addresses = await makeAddresses(ann))],
		['new ones end the old', async () => {
			const before = addresses;
			addresses = await makeAddresses(ann);
			await areGone(visitor, before);
			await readAddresses(visitor, addresses);
		}],
		['ended, they are gone', async () => {
			await follow(ann, 'Done');
			await press(ann, 'End my addresses');
			await sees(ann, /Your addresses are ended/);
			await areGone(visitor, addresses);
		}],
		['no page complained', () => none(ann)],
	]);
	await journey(`mail that is not set up, ${how}`, [
		['a member is told so', async () => {
			await goes(ann, '/account');
			await follow(ann, /^Mail/);
			await sees(ann, /Mail is not set up on this box/);
			assert.equal(await ann.locator('main input[type=text], main input[type=email]').count(), 0, 'an address is asked for that nothing goes to');
		}],
		['an admin is told how', async () => {
			await goes(boss, '/admin');
			await follow(boss, /[Mm]ail/);
			await sees(boss, /Mail is not set up on this box/);
		}],
	]);
	await server.stop();
}

await news(true);
await news(false);
await chrome.close();
finish();
