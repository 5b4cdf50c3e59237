// Journeys of notes: on a notice, a step and a part, answered, edited, of help,
// removed, called about; and of the pictures on them, wanted and refused. Each
// with scripts and without, in a phone's window.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { join, signIn } from '../support/client.mjs';
import { photograph, png, told } from '../support/pictures.mjs';
import { fill, follow, goes, journey, none, press, pressIn, sees, seesNot, unfold } from './person.mjs';
import { launch, openWindow } from './screen.mjs';

const chrome = await launch();
const noteWith = (window, text) => window.locator('main ul.notes > li').filter({ hasText: text }).last();

// Adds a note on the page that is open.
async function add(window, text, pictures = []) {
	const form = await unfold(window, 'Add a note');
	await form.getByLabel('Note', { exact: true }).fill(text);
	if (pictures.length)
		await form.locator('input[type=file]').setInputFiles(pictures);
	await pressIn(window, form, 'Add the note');
}

// A cold hand presses twice: the second press comes before the answer.
async function pressesTwice(window, at, text) {
	await goes(window, at);
	const form = await unfold(window, 'Add a note');
	await form.getByLabel('Note', { exact: true }).fill(text);
	const kept = await form.getByRole('button', { name: 'Add the note' }).evaluate(button => {
		const kept = [];
		document.addEventListener('submit', event => {
			kept.push(event.defaultPrevented);
			event.preventDefault();
		});
		button.click();
		button.click();
		return kept;
	});
	assert.deepEqual(kept, [false, true], 'a second press sends the note again');
}

async function addAt(window, at, text) {
	await goes(window, at);
	await add(window, text);
	await sees(window, /The note is added\./);
	assert.match(window.url(), /#note-\d+$/, 'the way back does not lead to the note');
	assert.ok(await noteWith(window, text.split('\n')[0]).first().isVisible());
}

const hostile = 'Raw words <b id="raw">stay words</b> <script>document.title = "taken"</script> <img src=x onerror=alert(1)>';

async function rawWords(window, at) {
	await addAt(window, at, hostile);
	assert.equal(await window.locator('#raw').count(), 0);
	assert.doesNotMatch(await window.title(), /taken/);
	await sees(window, /<b id="raw">stay words<\/b> <script>document\.title/);
}

async function openNote(window, at, text) {
	await goes(window, at);
	await Promise.all([window.waitForNavigation(), noteWith(window, text).locator('p.by a').first().click()]);
	assert.match(window.url(), /\/notes\/\d+/);
	return /\/notes\/\d+/.exec(window.url())[0];
}

async function answerNote(window, at, text, words) {
	await goes(window, at);
	await press(window, 'Answer', 'link', 0, noteWith(window, text));
	await sees(window, new RegExp(text));
	await fill(window, /^(Answer|Note)/, words);
	await press(window, 'Answer');
	await sees(window, /The answer is added/);
	await goes(window, at);
	const answers = window.locator('main ul.notes.answers > li').filter({ hasText: words });
	assert.equal(await answers.count(), 1, 'the answer does not stand below its note');
	assert.ok(await answers.getByRole('link', { name: 'Answer', exact: true }).count(), 'nobody can go on with the talk');
}

async function editNote(window, note, before, words) {
	await goes(window, note);
	await follow(window, 'Edit');
	const field = window.locator('main textarea');
	assert.equal(await field.inputValue(), before);
	await field.fill('');
	await press(window, 'Save');
	await sees(window, /Not taken yet/);
	await field.fill(words);
	await press(window, 'Save');
	await sees(window, /The note is changed/);
}

async function readHistory(window, note, before, words) {
	await goes(window, note);
	await sees(window, /edited/);
	await follow(window, 'Earlier words');
	await sees(window, new RegExp(`${words}[^]*As it was[^]*${before}`));
	await follow(window, 'Back to the note');
	assert.match(window.url(), new RegExp(note));
}

const placeOf = async (window, at, text) => {
	await goes(window, at);
	const all = await window.locator('main ul.notes').first().locator(':scope > li').allInnerTexts();
	return all.findIndex(one => one.includes(text));
};

async function helps(window, at, text) {
	await goes(window, at);
	await pressIn(window, noteWith(window, text), 'This helped');
	await sees(window, /Noted: it helped you/);
}

async function removeNote(window, note, at, text) {
	await goes(window, note);
	await follow(window, 'Remove');
	await follow(window, 'Keep it');
	await sees(window, new RegExp(text));
	await follow(window, 'Remove');
	await press(window, 'Remove the note');
	await goes(window, at);
	await seesNot(window, new RegExp(text));
	await sees(window, /Removed by/);
}

async function callSteward(window, note, reason) {
	await goes(window, note);
	await follow(window, 'Call a steward');
	await press(window, 'Call a steward');
	await sees(window, /Not taken yet/);
	await fill(window, /^Reason/, reason);
	await press(window, 'Call a steward');
	await sees(window, /The stewards are called/);
}

async function closeCall(steward, reason, note, text) {
	await goes(steward, '/board');
	await follow(steward, /^Calls for a steward: \d/);
	await sees(steward, new RegExp(reason));
	const call = steward.locator('main ul.rows > li').filter({ hasText: reason });
	await Promise.all([steward.waitForNavigation(), call.locator('a.to').click()]);
	await sees(steward, new RegExp(text));
	await press(steward, 'Take it away');
	await sees(steward, /Not taken yet/);
	await fill(steward, /^What you did/, 'Taken away: it is no note.');
	await press(steward, 'Take it away');
	await sees(steward, /It is taken away, and the call is closed/);
	await goes(steward, note);
	await seesNot(steward, new RegExp(text));
}

// ---- pictures ----

// A form that was refused holds the words, asks for the pictures again, and nothing was kept.
async function refused(window, at, text, files, pattern) {
	await goes(window, at);
	await add(window, text, files);
	await sees(window, /Not taken yet/);
	await sees(window, pattern);
	await sees(window, /Choose the pictures again/);
	assert.equal(await window.locator('main textarea').first().inputValue(), text, 'the words are lost');
	await goes(window, at);
	await seesNot(window, new RegExp(text));
}

async function sixPictures(window, at, text, files) {
	await goes(window, at);
	await add(window, text, files);
	await sees(window, /The note is added/);
	const shown = noteWith(window, text).locator('ul.pictures img');
	assert.equal(await shown.count(), 6);
	const answer = await window.request.get(await shown.first().getAttribute('src'));
	assert.deepEqual(told(await answer.body()), []);
}

async function removePicture(window, at, text) {
	await openNote(window, at, text);
	await follow(window, /^Remove picture 2/);
	await follow(window, 'Keep it');
	assert.equal(await window.locator('main ul.pictures img').count(), 6);
	await follow(window, /^Remove picture 2/);
	await press(window, 'Remove the picture');
	await sees(window, /The picture is removed/);
	assert.equal(await window.locator('main ul.pictures img').count(), 5);
}

async function addPictures(window, files) {
	await follow(window, 'Add pictures');
	await sees(window, /There is room for 1\b/);
	await window.locator('main input[type=file]').setInputFiles(files.slice(0, 2));
	await press(window, 'Add them');
	await sees(window, /one too many/);
	await window.locator('main input[type=file]').setInputFiles(files.slice(0, 1));
	await press(window, 'Add them');
	await sees(window, /The pictures are added/);
	assert.equal(await window.locator('main ul.pictures img').count(), 6);
}

async function files(window) {
	const album = folder();
	const keep = (name, bytes) => {
		fs.writeFileSync(path.join(album, name), bytes);
		return path.join(album, name);
	};
	const good = [];
	for (let i = 1; i <= 7; i++)
		good.push(i === 2 ? keep('plan.png', png(400, 300)) : await photograph(window, album, `rib ${i}.jpg`));
	return {
		good,
		bomb: keep('bomb.png', png(30000, 30000, 4)),
		letter: keep('letter.jpg', 'Dear builders, this is no picture at all.'),
		cut: keep('cut.jpg', fs.readFileSync(good[0]).subarray(0, 2000)),
		heic: keep('phone.jpg', Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypheic\0\0\0\0mif1heic'), Buffer.alloc(600)])),
	};
}

async function notes(scripts) {
	const server = await serve(folder(), ['--demo', '--behind-proxy']);
	const how = scripts ? 'with scripts' : 'without scripts';
	const admin = await signIn(server.url, 'admin');
	const open = async session => openWindow(chrome, server.url, { session, javaScriptEnabled: scripts });
	const ann = await open(await join(admin, 'ann')), ben = await open(await join(admin, 'ben'));
	const steward = await open(await signIn(server.url, 'steward'));
	const visitor = await open();
	const { notices } = await visitor.request.get('/api/v1/notices?limit=500').then(answer => answer.json());
	const about = `/notices/${notices.find(one => one.number === 'HB-2015-01').id}`;
	const all = `${about}/notes`, step = '/step?model=Whimbrel&code=EMP-07', part = '/part?number=WH-4412-2';
	const first = 'Ream it before you bend the tab', later = 'Ream it first; the tab cracks otherwise';
	let note, bad;

	await journey(`notes, ${how}`, [
		['one is written on a notice', () => addAt(ann, about, `${first}\n\n- by hand\n- *slowly*`)],
		['its marks are lists and emphasis', async () => {
			assert.equal(await noteWith(ann, first).locator('li').count(), 2);
			assert.equal(await noteWith(ann, first).locator('em').innerText(), 'slowly');
		}],
		['one on a step', () => addAt(ann, step, 'Clamp the jig at this step')],
		['one on a part', () => addAt(ann, part, 'This part came without its paint mark')],
		['raw HTML stays words', () => rawWords(ann, all)],
		['an empty one is refused', async () => {
			await goes(ben, about);
			await add(ben, ' ');
			await sees(ben, /Not taken yet/);
			await follow(ben, 'Leave it');
		}],
		['it opens by its date', async () => (note = await openNote(ben, all, first))],
		['another answers it, one level deep', () => answerNote(ben, all, first, 'Mine cracked all the same')],
		['the author edits it', () => editNote(ann, note, `${first}\n\n- by hand\n- *slowly*`, later)],
		['members read what stood there', () => readHistory(ben, note, first, later)],
		['one that helped goes up, past a newer one', async () => {
			await addAt(ben, all, 'A rod of brass does it');
			const before = await placeOf(steward, all, later);
			assert.ok(await placeOf(steward, all, 'A rod of brass') < await placeOf(steward, all, later), 'of two the newer stands first');
			await helps(ben, all, later);
			await helps(steward, all, later);
			assert.ok(await placeOf(steward, all, later) < before, 'that it helped does not take it up');
			await sees(steward, /helped 2 members/);
		}],
		['taken back, it helped one', async () => {
			await goes(ben, all);
			await pressIn(ben, noteWith(ben, later), 'Take back that it helped');
			await goes(ben, all);
			await sees(ben, /helped one member/);
		}],
		['by date the newest comes first', async () => {
			await goes(ben, all);
			await press(ben, /newest/i, 'link', 0, ben.locator('main nav'));
			const at = ben.url().slice(server.url.length);
			assert.ok(await placeOf(ben, at, 'A rod of brass') < await placeOf(ben, at, later));
		}],
		['a visitor reads it without names, and cannot answer', async () => {
			await goes(visitor, all);
			await sees(visitor, new RegExp(later));
			await seesNot(visitor, /Member ann|This helped|Add a note/);
		}],
		['it is found by its words', async () => {
			await goes(visitor, '/notes');
			await visitor.locator('main input[type=search]').fill('tab cracks');
			await press(visitor, 'Search');
			await sees(visitor, /1 found/);
			await follow(visitor, /HB-2015-01/);
			await sees(visitor, new RegExp(later));
		}],
		['the author removes one, and a trace stays', async () => {
			const own = await openNote(ann, step, 'Clamp the jig');
			await removeNote(ann, own, step, 'Clamp the jig at this step');
		}],
		['a steward is called about another', async () => {
			bad = await openNote(ben, part, 'without its paint mark');
			await callSteward(ben, bad, 'Not about the part at all');
		}],
		['finds the call in the queue, and takes the note away', () => closeCall(steward, 'Not about the part at all', bad, 'without its paint mark')],
		...(scripts ? [['the second of two presses sends nothing', () => pressesTwice(ben, part, 'Pressed in haste')]] : []),
		['no page complained', () => [ann, ben, steward, visitor].forEach(none)],
	]);
	const disk = await files(ann);
	await journey(`pictures of notes, ${how}`, [
		['seven are one too many', () => refused(ann, about, 'Seven pictures of it', disk.good, /“rib 7\.jpg” is one too many/)],
		['a picture that would fill the memory', () => refused(ann, about, 'A large plan of it', [disk.bomb], /“bomb\.png” is 30000 by 30000 pixels, more than are taken/)],
		['a letter that calls itself a picture', () => refused(ann, about, 'A letter about it', [disk.good[0], disk.letter], /“letter\.jpg” is neither a JPEG, PNG nor WebP picture/)],
		['half a picture', () => refused(ann, about, 'Half of it', [disk.cut], /“cut\.jpg” is damaged or cut short/)],
		['a phone\'s own kind', () => refused(ann, about, 'From the phone', [disk.heic], /“phone\.jpg” is a HEIC or AVIF picture: save it as JPEG first/)],
		['six are shown, and tell nothing', () => sixPictures(ann, about, 'Six pictures of it', disk.good.slice(0, 6))],
		['one of them is removed', () => removePicture(ann, about, 'Six pictures of it')],
		['and another added', () => addPictures(ann, disk.good)],
		['no page complained', () => none(ann)],
	]);
	await server.stop();
}

await notes(true);
await notes(false);
await chrome.close();
finish();
