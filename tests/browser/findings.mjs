// Journeys of a finding: a fault reported with pictures, answered by others,
// merged and parted, settled by a notice; a question to the maker. Each with
// scripts and without, in a phone's window.
import assert from 'node:assert/strict';
import { finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { join, makeKit, signIn } from '../support/client.mjs';
import { photograph, told } from '../support/pictures.mjs';
import { fill, follow, goes, goesAnew, journey, none, press, pressIn, sees, seesNot, unfold, words } from './person.mjs';
import { launch, openWindow } from './screen.mjs';

const chrome = await launch();
const title = 'Roller of the left pushrod guide stands half off its pin';
const seen = 'The ring has sprung out of its groove, and the roller of the guide at rib 6 stands off its pin.';
const reportOf = page => /\/reports\/\d+/.exec(page.url())[0];

// ---- reporting ----

async function fillReport(window, what, { scripts, part = 'WH-2207-1' }) {
	await goes(window, '/reports');
	await follow(window, 'Report a fault');
	await fill(window, /^What it is/, what);
	await fill(window, /^Part number/, part);
	await fill(window, /^Step of the build line/, 'WNG-08');
	await fill(window, /^What was seen/, seen);
	if (scripts) {
		await window.locator('#like').getByRole('link', { name: /Aileron pushrod guide: roller half off its pin/ }).waitFor({ timeout: 10000 });
		assert.equal(await window.locator('#like').getAttribute('aria-live'), 'polite', 'nobody is told of the reports that come up');
		await window.locator('#like').getByLabel(/It is another thing/).check();
	}
	await fill(window, /^How to look/, 'Lamp and mirror at the inspection hole: push the roller along its pin.');
	await window.locator('#severity').getByText(/could hurt|danger/i).first().click();
}

// Who answered the question while typing is not asked again. To others it comes above the
// form, with what was typed, but for the pictures, which no browser keeps.
async function answerQuestion(window, pictures, { scripts }) {
	if (scripts)
		return;
	await sees(window, /Has this been reported already\?/);
	await sees(window, /Aileron pushrod guide: roller half off its pin/);
	assert.equal(await window.locator('main').getByLabel(/^What was seen/).inputValue(), seen, 'the text is lost');
	if (pictures.length) {
		await sees(window, /Choose the pictures again/);
		await window.locator('main input[type=file]').setInputFiles(pictures);
	}
	await window.locator('main').getByLabel(/It is another thing/).check();
	await press(window, 'Report it');
}

async function reportFault(window, pictures, options) {
	await fillReport(window, title, options);
	await window.locator('main input[type=file]').setInputFiles(pictures);
	await fill(window, /What the pictures show/, 'The groove without its ring');
	await press(window, 'Report it');
	await answerQuestion(window, pictures, options);
	await sees(window, /Reported\. Those whose kits are like yours are told to look/);
	await sees(window, new RegExp(title));
	await sees(window, /single report/i);
	return reportOf(window);
}

async function picturesTellNothing(window) {
	const shown = window.locator('main ul.pictures img');
	assert.equal(await shown.count(), 2);
	for (const one of await shown.all()) {
		assert.match(await one.getAttribute('alt'), /groove without its ring/);
		await one.scrollIntoViewIfNeeded();
		await window.waitForFunction(image => image.complete && image.naturalWidth > 0, await one.elementHandle(), { timeout: 10000 });
		const large = await one.locator('xpath=..').getAttribute('href');
		for (const at of [await one.getAttribute('src'), large]) {
			const answer = await window.request.get(at);
			assert.equal(answer.status(), 200);
			const bytes = await answer.body();
			assert.deepEqual(told(bytes), [], at);
			for (const word of ['Exif', 'GPS', 'HANGAR-SEVEN', 'http://ns.adobe.com'])
				assert.equal(bytes.indexOf(word), -1, `${at} holds ${word}`);
		}
	}
}

// The words and the way back: a link at the head of the picture's own address.
async function opensPictureAndBack(window, report) {
	await goes(window, report);
	await Promise.all([window.waitForNavigation(), window.locator('main ul.pictures a').first().click()]);
	assert.match(window.url(), /\/pictures\/\d+$/);
	// Around a picture alone the browser puts a page with a style of its own, and refuses it.
	window.faults = window.faults.filter(one => !/inline style/.test(one));
	await window.goBack();
	assert.equal(reportOf(window), report);
}

// ---- answering ----

async function answer(window, report, kit, what, remark) {
	await goes(window, report);
	const form = await unfold(window, kit);
	await form.getByText(what, { exact: true }).click();
	await form.getByLabel('Remark', { exact: true }).fill(remark);
	await pressIn(window, form, 'Answer');
	await sees(window, /Your answer is entered, with the facts of your kit/);
}

const stateIs = async (window, report, state, found) => {
	await goesAnew(window, report);
	assert.match(await window.locator('main .meta .stamp').first().innerText(), new RegExp(`^${state}$`, 'i'));
	await sees(window, found);
};

const findingOf = (window, remark) => window.locator('#findings ~ ul.notes > li').filter({ hasText: remark });

async function bothAreShown(window, report, earlier, later) {
	await goes(window, report);
	assert.match(await findingOf(window, earlier).innerText(), /replaced by a later answer/i);
	assert.doesNotMatch(await findingOf(window, later).innerText(), /replaced by a later answer/i);
}

async function refusesNoAnswer(window, report, kit) {
	await goes(window, report);
	const form = await unfold(window, kit);
	await form.getByLabel('Remark', { exact: true }).fill('Words that must not get lost');
	await pressIn(window, form, 'Answer');
	await sees(window, /Not taken yet/);
	assert.equal(await window.locator('main').getByLabel('Remark').inputValue(), 'Words that must not get lost');
	await follow(window, 'Leave it');
	assert.equal(reportOf(window), report);
	await seesNot(window, /Words that must not get lost/);
}

// ---- stewards ----

async function merge(steward, from, into) {
	await goes(steward, from);
	await follow(steward, 'Merge into another');
	await fill(steward, /words|number/i, 'stands half off its pin');
	await press(steward, 'Search');
	await follow(steward, new RegExp(`^${into.split('/').pop()}:`));
	await sees(steward, /What will happen/);
	await press(steward, /^Merge it into/);
	await sees(steward, /Merged\./);
}

async function link(steward, report, number) {
	await goes(steward, report);
	await follow(steward, 'Link to a notice');
	await fill(steward, /^Number/, 'XX-0000-00');
	await press(steward, 'Link it');
	await sees(steward, /Not taken yet/);
	await fill(steward, /^Number/, number);
	await press(steward, 'Link it');
	await sees(steward, /Linked to the notice/);
	await stateIs(steward, report, 'settled', new RegExp(`Settled by notice ${number}`));
}

async function drawUp(steward, report) {
	await goes(steward, report);
	await follow(steward, 'Draw up an advisory');
	await fill(steward, /^Number/, 'CHA-2026-9');
	await press(steward, 'Make the draft');
	const draft = /\/board\/drafts\/\d+/.exec(steward.url())[0];
	await sees(steward, /made from the field report/);
	const field = label => steward.locator('main').getByLabel(label).first().inputValue();
	assert.equal(await field('Number'), 'CHA-2026-9');
	assert.match(await field(/^Title/), /Roller of the left pushrod guide/);
	assert.match(await field(/^What is wrong/), /sprung out of its groove/);
	assert.match(await field('Effectivity statement'), /model Whimbrel/);
	await goes(steward, report);
	await sees(steward, /An advisory is being drawn up from it, with the number CHA-2026-9/);
	return draft;
}

async function handOver(steward, draft) {
	await goes(steward, draft);
	await fill(steward, 'Issued', '2026-06-01');
	await fill(steward, 'Issuer', 'The chapter');
	if (!await steward.locator('main').getByLabel('What to do', { exact: true }).inputValue())
		await fill(steward, 'What to do', '1. Look at the corner.\n2. Round it.');
	await steward.locator('[name=force]').selectOption('recommended');
	await press(steward, 'Save, then to the check sheet');
	await seesNot(steward, /Missing before it can be published/);
	await press(steward, 'Hand it over for checking');
}

async function publish(second, draft) {
	await goes(second, `${draft}/check`);
	for (const box of await second.locator('main form#form input[type=checkbox]').all())
		await box.check();
	await press(second, 'Publish to the chapter');
}

// ---- the question to the maker ----

async function askMaker(window, from, question, kit) {
	await goes(window, from);
	if (kit)
		await unfold(window, kit);
	await follow(window, /^Ask the maker/);
	await fill(window, /^What you ask/, question);
	await press(window, 'Put it on the sheet');
	await sees(window, new RegExp(question.split('\n')[0]));
	await sees(window, /WH-0333/);
	assert.equal(await window.locator('main').getByLabel(/^What you ask/).inputValue(), question);
	await window.emulateMedia({ media: 'print' });
	for (const gone of ['nav.drawer', 'main form', '#h-copy'])
		assert.ok(!await window.locator(gone).first().isVisible(), `${gone} is printed`);
	assert.ok(await window.locator('main p.lines').filter({ hasText: question.split('\n')[0] }).first().isVisible());
	const pages = (await window.pdf({ format: 'A4' })).toString('latin1').match(/\/Type\s*\/Page\b/g)?.length;
	assert.ok(pages >= 1 && pages <= 2, `${pages} sheets`);
	await window.emulateMedia({ media: 'screen' });
}

// ---- all ----

async function findings(scripts) {
	const server = await serve(folder(), ['--demo', '--behind-proxy']);
	const how = scripts ? 'with scripts' : 'without scripts';
	const admin = await signIn(server.url, 'admin');
	const open = async session => openWindow(chrome, server.url, { session, javaScriptEnabled: scripts });
	const member = async (login, kits) => {
		const session = await join(admin, login);
		for (const [name, serial] of kits)
			await makeKit(session, name, { model: 'Whimbrel', serial });
		return open(session);
	};
	const ann = await member('ann', [['Red one', 'WH-0333']]);
	const ben = await member('ben', [['Yellow one', 'WH-0334']]);
	const cat = await member('cat', [['Blue one', 'WH-0335']]);
	const annTwo = async () => {
		await goes(ann, '/kits');
		await fill(ann, /^Name of the kit/, 'White one');
		await press(ann, 'Add the kit');
		await fill(ann, 'Model', 'Whimbrel');
		await press(ann, 'Save all facts');
	};
	const visitor = await open();
	const first = await open(await signIn(server.url, 'steward'));
	const second = await open(await join(admin, 'wilma', 'steward'));
	const album = folder();
	const pictures = [await photograph(ann, album, 'roller.jpg'), await photograph(ann, album, 'groove.jpg', 'sienna')];
	let report, other, third, draft;

	await journey(`a report, ${how}`, [
		['is written with two pictures, past the question whether it is new', async () => (report = await reportFault(ann, pictures, { scripts }))],
		['its pictures tell nothing of place and camera', () => picturesTellNothing(ann)],
		['a picture opens, and the way back leads to the report', () => opensPictureAndBack(ann, report)],
		['a visitor reads it without its names', async () => {
			await goes(visitor, report);
			await sees(visitor, new RegExp(title));
			await seesNot(visitor, /Member ann|WH-0333/);
		}],
		['an answer without a choice is refused with its words kept', () => refusesNoAnswer(ben, report, 'Yellow one')],
		['the second kit of its reporter found it', async () => {
			await annTwo();
			await answer(ann, report, 'White one', 'found it', 'On my other kit as well');
			await stateIs(ann, report, 'single report', /found on 2 of 2/i);
		}],
		['one looked in vain', () => answer(cat, report, 'Blue one', 'looked, not there', 'The ring sits all round')],
		['another found it, which confirms it', async () => {
			await answer(ben, report, 'Yellow one', 'found it', 'The ring is loose');
			await stateIs(ben, report, 'confirmed', /found on 3 of 4/i);
		}],
		['who looked in vain answers anew: only that counts, both are shown', async () => {
			await answer(cat, report, 'Blue one', 'found it', 'From behind, a gap in the ring');
			await stateIs(cat, report, 'confirmed', /found on 4 of 4/i);
			await bothAreShown(cat, report, 'The ring sits all round', 'From behind, a gap in the ring');
		}],
		['who found it says that it does not fit, which leaves two that found it', async () => {
			await answer(ben, report, 'Yellow one', 'does not fit my kit', 'Mine has the later guide');
			await stateIs(ben, report, 'confirmed', /found on 3 of 3/i);
			await bothAreShown(ben, report, 'The ring is loose', 'Mine has the later guide');
		}],
		['no page complained', () => [ann, ben, cat, visitor].forEach(none)],
	]);
	await journey(`stewards, ${how}`, [
		['two more report the same', async () => {
			await fillReport(ben, 'Roller of the left pushrod guide is loose', { scripts });
			await press(ben, 'Report it');
			await answerQuestion(ben, [], { scripts });
			other = reportOf(ben);
			await fillReport(cat, 'Roller of the left pushrod guide has no ring', { scripts });
			await press(cat, 'Report it');
			await answerQuestion(cat, [], { scripts });
			third = reportOf(cat);
		}],
		['a steward merges two', async () => {
			await merge(first, other, report);
			await goesAnew(visitor, other);
			await sees(visitor, /Merged\. The same as field report/);
			await stateIs(visitor, report, 'confirmed', /found on/i);
		}],
		['and parts them again', async () => {
			await goes(first, other);
			await press(first, 'Part it again');
			await sees(first, /Parted again/);
			await goesAnew(visitor, other);
			await seesNot(visitor, /Merged\./);
		}],
		['links one to a notice, which settles it', () => link(first, third, 'HB-2022-03')],
		['the notice shows the report', async () => {
			await goes(visitor, '/notices?q=HB-2022-03');
			await follow(visitor, /HB-2022-03/);
			await sees(visitor, /Field reports linked to this notice/);
		}],
		['takes the link away', async () => {
			await goes(first, third);
			await follow(first, 'Link to a notice');
			await press(first, 'Take the link away');
			await stateIs(first, third, 'single report', /found on 1 of 1/i);
		}],
		['draws up an advisory', async () => (draft = await drawUp(first, report))],
		['hands it over', () => handOver(first, draft)],
		['a second steward publishes it', () => publish(second, draft)],
		['the report is settled by it', () => stateIs(visitor, report, 'settled', /Settled by notice CHA-2026-9/)],
		['what was done to it can be read', async () => {
			await goes(ann, report);
			await follow(ann, 'What was done to it');
			await sees(ann, /advisory|linked|merged/i);
		}],
		['no page complained', () => [ann, ben, cat, visitor, first, second].forEach(none)],
	]);
	await journey(`ask the maker, ${how}`, [
		['about a report', () => askMaker(ann, report, 'May the corner be rounded?\nBy how much?', 'Red one')],
		['about a notice', async () => {
			await goes(ann, '/notices?q=CHA-2026-9');
			await follow(ann, /CHA-2026-9/);
			await follow(ann, 'For Red one');
			await askMaker(ann, ann.url(), 'Is a sleeve as good?');
		}],
		['no page complained', () => none(ann)],
	]);
	await server.stop();
}

await findings(true);
await findings(false);
await chrome.close();
finish();
