// Whole journeys of people through the pages, each with scripts and without,
// in a phone's window. Buttons and fields are found by the words on them.
import assert from 'node:assert/strict';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { dump, folder, root, run, serve } from '../support/fairlead.mjs';
import { join, signIn } from '../support/client.mjs';
import { fill, follow, goes, none, press, sees, words } from './person.mjs';
import { desk, launch, openWindow } from './screen.mjs';

const chrome = await launch();
// ---- visitor ----

async function visitorAsks(window, data) {
	const before = dump(data);
	await goes(window, '/');
	await Promise.all([window.waitForNavigation(), window.getByRole('link', { name: /Would this concern/ }).first().click()]);
	await fill(window, 'Model', 'Whimbrel');
	await fill(window, 'Kit serial number', 'WH-0371');
	await fill(window, 'Purchased', '2017-13');
	await press(window, /Show what/);
	await sees(window, /Purchased[^.]*2017-09/);
	assert.equal(await window.getByLabel('Model', { exact: true }).inputValue(), 'Whimbrel', 'what was typed is gone');
	await fill(window, 'Purchased', '2020-08');
	await press(window, /Show what/);
	assert.equal(await window.getByLabel('Purchased', { exact: true }).inputValue(), '2020-08');
	const total = (await window.request.get('/api/v1/notices?limit=1').then(answer => answer.json())).total;
	// Every notice is in one of the piles.
	const piles = await window.locator('main h2').allInnerTexts();
	const counts = piles.map(one => /^\s*(\d+)\s/.exec(one)).filter(Boolean).map(one => Number(one[1]));
	assert.ok(counts.length >= 3, piles.join('; '));
	assert.equal(counts.reduce((a, b) => a + b, 0), total, piles.join('; '));
	await sees(window, /HB-2015-01/);
	assert.equal(dump(data), before, 'something was stored');
	none(window);
}

// ---- builder ----

const password = 'cleco and countersink';

async function joinBy(window, link, login, name) {
	await goes(window, link);
	await fill(window, /^Login/, login);
	await fill(window, /^(Your )?name/i, name);
	const fields = window.locator('input[type=password]');
	await fields.nth(0).fill(password);
	await fields.nth(1).fill(password);
	await press(window, 'Join');
	await sees(window, /Sign out/);
}

async function invite(window, role) {
	await goes(window, '/admin/invites');
	await window.locator('main').getByLabel(/^Joins? as|^Role/i).selectOption(role);
	await press(window, 'Make an invite');
	assert.ok(await window.locator('svg, img').count() > 1, 'no code to point a phone at');
	return /\/join\/[A-Za-z0-9_-]+/.exec(await words(window))[0];
}

const leftOf = async page => Number(/To do: (\d+) of (\d+)/.exec(await words(page))[1]);
const askedOf = async page => Number(/(\d+) cannot be told/.exec(await words(page))?.[1] ?? 0);

async function makeKit(window) {
	await goes(window, '/kits');
	await fill(window, /^Name of the kit/, 'Blue Whimbrel');
	await press(window, 'Add the kit');
	const kit = /\/kits\/\d+/.exec(window.url())[0];
	await goes(window, `${kit}/facts`);
	await fill(window, 'Model', 'Whimbrel');
	await fill(window, 'Kit serial number', '---');
	await press(window, 'Save all facts');
	await sees(window, /Kit serial number has no digit/);
	await fill(window, 'Kit serial number', 'WH 0371');
	await press(window, 'Save all facts');
	await goes(window, kit);
	await sees(window, /What would help most to know/);
	return kit;
}

async function answerQuestion(window) {
	const before = await askedOf(window);
	const box = window.locator('.asking');
	if (await box.locator('input[type=text]').count()) {
		await box.locator('input[type=text]').fill('2020-08-21');
		await press(window, 'Save');
	} else
		await press(window, /^(Yes|No)$/);
	const after = await askedOf(window);
	assert.ok(before > after, `${before} could not be told, now ${after}`);
}

async function readBacklog(window, kit) {
	await goes(window, `${kit}/reading`);
	for (let i = 0; i < 3; i++)
		await press(window, 'Read, next one');
	await sees(window, /\b3 of \d+/);
	await press(window, 'Undo');
	await sees(window, /\b2 of \d+/);
	await goes(window, kit);
	assert.ok(await leftOf(window) > 0, 'reading is not doing');
}

async function recordOne(window, kit) {
	await goes(window, kit);
	await sees(window, /HB-2015-01[^]*2 of 2 lines left/);
	await follow(window, /HB-2015-01/);
	await sees(window, /Applies because/);
	await follow(window, 'Record work');
	for (const box of await window.locator('input[name=line]').all())
		assert.ok(!await box.isChecked(), 'of two sides neither is chosen ahead');
	await window.locator('input[name=line]').nth(0).check();
	await fill(window, /^Done on/, '2017-13');
	await press(window, 'Enter the record');
	await sees(window, /Done on[^.]*2017-09/);
	assert.ok(await window.locator('input[name=line]').nth(0).isChecked(), 'the line is no longer ticked');
	await fill(window, /^Done on/, '2026-02-03');
	await fill(window, /^How it was done/, 'Drain hole opened, sleeves fitted');
	await fill(window, /^Done by/, 'B. Uilder');
	await press(window, 'Enter the record');
	await goes(window, kit);
	await sees(window, /HB-2015-01[^]*1 of 2 lines left/);
}

async function correct(window, kit) {
	await goes(window, `${kit}/records`);
	await follow(window, 'Correct');
	await fill(window, /^Done on/, '2026-02-04');
	await press(window, 'Enter the correction');
	await goes(window, `${kit}/records`);
	await sees(window, /Corrects record 1/);
	await sees(window, /Counts no more/);
	await sees(window, /3 February 2026|2026-02-03/);
	await goes(window, kit);
	await sees(window, /HB-2015-01[^]*1 of 2 lines left/);
}

async function printStatement(window, kit) {
	await goes(window, `${kit}/statement`);
	await sees(window, /HB-2015-01/);
	await sees(window, /Drain hole opened/);
	await sees(window, /2026-02-04|4 February 2026/);
	await sees(window, /[Ss]ignature/);
	const { total, notices } = await window.request.get('/api/v1/notices?limit=500').then(answer => answer.json());
	const all = await words(window);
	assert.equal(notices.filter(one => all.includes(one.number)).length, total, 'a notice is left off the statement');
	await window.emulateMedia({ media: 'print' });
	assert.ok(!await window.locator('nav.drawer').isVisible(), 'the drawer is printed');
	assert.ok(await window.getByText('Fairlead informs.').first().isVisible(), 'the caution is not printed');
	const file = await window.pdf({ format: 'A4' });
	assert.equal(file.subarray(0, 5).toString(), '%PDF-');
	await window.emulateMedia({ media: 'screen' });
}

async function builderJourney(javaScriptEnabled) {
	const data = folder();
	run(['import', path.join(root, 'seed/notices.json'), '--data', data]);
	const server = await serve(data, ['--behind-proxy']);
	const link = (await server.line(1)).slice('first admin: '.length);
	const admin = await openWindow(chrome, server.url, { viewport: desk, javaScriptEnabled });
	const window = await openWindow(chrome, server.url, { javaScriptEnabled });
	let kit, invitation;
	const steps = [
		['the first admin joins by the link', () => joinBy(admin, link, 'ada', 'Ada Minister')],
		['and makes an invite', async () => (invitation = await invite(admin, 'builder'))],
		['the builder joins by it', () => joinBy(window, invitation, 'bea', 'Bea Uilder')],
		['makes a kit and fills in facts', async () => (kit = await makeKit(window))],
		['answers the next question', () => answerQuestion(window)],
		['reads the backlog', () => readBacklog(window, kit)],
		['records one of two lines', () => recordOne(window, kit)],
		['corrects it', () => correct(window, kit)],
		['prints the statement', () => printStatement(window, kit)],
		['no page complained', () => [admin, window].forEach(none)],
		['the chain of records holds', () => assert.equal(run(['verify', '--data', data]).code, 0)],
	];
	for (const [name, step] of steps)
		if (!await check(`builder, ${javaScriptEnabled ? 'with' : 'without'} scripts: ${name}`, step))
			break;
	await server.stop();
}

// ---- stewards ----

async function draftNotice(window, number, javaScriptEnabled) {
	await goes(window, '/board');
	await follow(window, 'Draft a new notice');
	await fill(window, 'Number', number);
	await fill(window, 'Issuer', 'Harrowfen Aircraft');
	await fill(window, 'Issued', '2026-05-01');
	await fill(window, 'Title', 'Chafe of the brake line at rib 2');
	await fill(window, 'What to do', '1. Look for wear.\n2. Fit a sleeve.');
	await fill(window, /^What is wrong/, 'The line rubs.');
	await window.locator('[name=kind]').selectOption('service letter');
	await window.locator('[name=force]').selectOption('mandatory');
	await fill(window, 'Effectivity statement', 'modle Whimbrel');
	if (javaScriptEnabled)
		await window.getByText(/line 1, column 1/).first().waitFor({ timeout: 10000 });
	else {
		await press(window, 'Read it back');
		await sees(window, /line 1, column 1/);
		assert.equal(await window.getByLabel('Title', { exact: true }).inputValue(), 'Chafe of the brake line at rib 2');
	}
	await fill(window, 'Effectivity statement', 'model Whimbrel\nserial WH-0300 and on');
	if (!javaScriptEnabled)
		await press(window, 'Read it back');
	await window.getByText(/kits of model Whimbrel, with serial number WH-0300 and on/i).first().waitFor({ timeout: 10000 });
	await sees(window, /\b(kits?)\b/);
	await press(window, 'Save the draft');
	await sees(window, /[Ss]aved/);
	return /\/board\/drafts\/\d+/.exec(window.url())[0];
}

async function handOver(window, draft) {
	await goes(window, draft);
	await press(window, 'Save, then to the check sheet');
	await press(window, 'Hand it over for checking');
	assert.ok(!await window.getByRole('button', { name: 'Publish to the chapter' }).count(), 'who drafted it may publish it');
}

async function checkAndPublish(window, number) {
	await goes(window, '/board');
	await follow(window, new RegExp(number));
	await sees(window, /Chafe of the brake line/);
	for (const box of await window.locator('main form#form input[type=checkbox]').all())
		await box.check();
	await press(window, 'Publish to the chapter');
}

async function builderSees(window, number) {
	await goes(window, `/notices?q=${number}`);
	await sees(window, new RegExp(`${number}[^]*Chafe of the brake line`));
	await goes(window, '/kits/1');
	await sees(window, new RegExp(`${number}[^]*Chafe of the brake line`));
}

// Both open the same draft; the second to save is told, and keeps the text.
async function editTogether(first, second, draft) {
	await goes(first, draft);
	await goes(second, draft);
	await fill(first, 'Title', 'Chafe, says the first');
	await press(first, 'Save the draft');
	await fill(second, 'Title', 'Chafe, says the second');
	await fill(second, /^What is wrong/, 'A long text of the second.');
	await press(second, 'Save the draft');
	await sees(second, /Saved meanwhile by/);
	assert.equal(await second.getByLabel('Title', { exact: true }).inputValue(), 'Chafe, says the second', 'the text is lost');
	assert.equal(await second.getByLabel(/^What is wrong/).inputValue(), 'A long text of the second.');
	assert.match(await second.locator('.newer').innerText(), /first/);
	await goes(first, draft);
	assert.equal(await first.getByLabel('Title', { exact: true }).inputValue(), 'Chafe, says the first', 'the second wrote over it unseen');
	await press(second, 'Save the draft');
	await goes(first, draft);
	assert.equal(await first.getByLabel('Title', { exact: true }).inputValue(), 'Chafe, says the second');
}

async function stewardJourney(javaScriptEnabled) {
	const data = folder();
	const server = await serve(data, ['--demo', '--behind-proxy']);
	const admin = await signIn(server.url, 'admin');
	const open = async session => openWindow(chrome, server.url, { session, javaScriptEnabled });
	const visitor = await open();
	const first = await open(await signIn(server.url, 'steward'));
	const second = await open(await join(admin, 'wilma', 'steward'));
	const builder = await open(await signIn(server.url, 'builder'));
	const how = javaScriptEnabled ? 'with scripts' : 'without scripts';
	let draft;
	await check(`visitor, ${how}: would this concern me?`, () => visitorAsks(visitor, data));
	const steps = [
		['drafts a notice, with its statement read back', async () => (draft = await draftNotice(first, 'QA-2026-7', javaScriptEnabled))],
		['two edit one draft, nothing is lost', () => editTogether(first, second, draft)],
		['sets the title right again', async () => {
			await goes(first, draft);
			await fill(first, 'Title', 'Chafe of the brake line at rib 2');
			await press(first, 'Save the draft');
		}],
		['hands it over', () => handOver(first, draft)],
		['the visitor does not see it yet', async () => {
			await goes(visitor, '/notices?q=QA-2026-7');
			await sees(visitor, /Nothing found/);
		}],
		['a second steward checks and publishes it', () => checkAndPublish(second, 'QA-2026-7')],
		['the builder sees it', () => builderSees(builder, 'QA-2026-7')],
		['no page complained', () => [first, second, builder, visitor].forEach(none)],
	];
	for (const [name, step] of steps)
		if (!await check(`steward, ${how}: ${name}`, step))
			break;
	await server.stop();
}

await Promise.all([builderJourney(true), stewardJourney(true)]);
await Promise.all([builderJourney(false), stewardJourney(false)]);
await chrome.close();
finish();
