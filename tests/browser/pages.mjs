// Every page of each role in the demonstration, found by its links: in a phone's
// window and on a desk, by day and by night.
//
// Sources: WCAG 2.2 A and AA by axe-core, and its contrast of 7:1 (1.4.6, AAA),
// which static/fairlead.css claims; HTML by html-validate. From design.md: no
// sideways scrolling at 390 px, targets of 48 px, 60 kB at first load.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import { HtmlValidate } from 'html-validate';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { attribute, Browser, elements, signIn } from '../support/client.mjs';
import { crawl, kindOf } from '../support/crawl.mjs';
import { desk, launch, openWindow, phone } from './screen.mjs';

const axe = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const server = await serve(folder(), ['--demo', '--behind-proxy']);
const roles = { visitor: new Browser(server.url) };
for (const role of ['builder', 'steward', 'admin'])
	roles[role] = await signIn(server.url, role);

// What a page shows only after something was done.
const draft = await roles.steward.open('/board/new');
const saved = await roles.steward.submit(draft.form(/^\/board\/new$/), { number: 'QA-1', issuer: 'Harrowfen Aircraft', title: 'A draft', issued: '2026-01',
	effectivity: 'serial WH-0101 thru WH-0110', work: '1. Look.', kind: 'service letter', force: 'optional' });

// Pages of a role that no earlier role has met.
const met = new Set(['/sign-out']), found = [];
for (const [role, browser] of Object.entries(roles))
	await crawl(browser, page => {
		const kind = kindOf(page.at);
		if (!/^text\/html/.test(page.headers['content-type']) || met.has(`${role === 'visitor'} ${kind}`))
			return;
		met.add(`${role === 'visitor'} ${kind}`);
		found.push({ role, page, name: `${role}, ${page.at}` });
	}, { each: 1 });
const draftAt = /^\/board\/drafts\/\d+/.exec(saved.at)[0];
const invited = await roles.admin.submit((await roles.admin.open('/admin/invites')).form(/^\/admin\/invites$/), { role: 'builder', label: 'for a look' });
for (const [role, at] of [['steward', `${draftAt}/check`], ['steward', `${draftAt}/files`], ['visitor', /\/join\/[A-Za-z0-9_-]+/.exec(invited.words)[0]]])
	found.push({ role, page: await roles[role].open(at), name: `${role}, ${kindOf(at)}` });

// A form with faults, and what is not there.
const faulty = await roles.steward.post('/board/new', [['token', draft.form(/^\/board\/new$/).fields[0].value], ['effectivity', 'modle X']]);
const missing = await roles.visitor.request('/nowhere');

await check('pages are found', () => {
	console.log(`  ${found.length} pages: ${found.map(one => kindOf(one.page.at)).join(' ')}`);
	for (const at of ['/', '/notices', '/check', '/about', '/sign-in', '/account', '/kits', '/kits/N', '/kits/N/facts', '/kits/N/statement', '/board', '/board/new', '/admin',
		'/reports', '/reports/N', '/reports/new', '/notes', '/notes/N', '/part?number', '/step?code&model', '/news', '/under-way', '/under-way/N', '/account/links',
		'/account/mail', '/board/calls', '/board/calls/N', '/admin/mail'])
		assert.ok(found.some(one => kindOf(one.page.at) === at), `no page ${at}`);
	assert.ok(found.every(one => one.page.status === 200), JSON.stringify(found.filter(one => one.page.status !== 200).map(one => one.name)));
});

// ---- without a window ----

const validator = new HtmlValidate({ root: true, extends: ['html-validate:standard', 'html-validate:a11y'],
	// A button in a form sends it unless it says otherwise (HTML standard, 4.10.8): that is what ours are for.
	elements: ['html5'], rules: { 'long-title': 'off', 'no-implicit-button-type': 'off' } });

async function assertValid(html, at) {
	const report = await validator.validateString(html, at);
	assert.ok(report.valid, report.results.flatMap(one => one.messages).map(one => `${one.line}:${one.column} ${one.ruleId}: ${one.message}`).slice(0, 8).join('\n'));
}

for (const { page, name } of found)
	await check(`HTML of ${name}`, () => assertValid(page.text, page.at));
await check('HTML of a form with faults', () => assertValid(faulty.text, '/board/new'));
await check('HTML of a missing page', () => assertValid(missing.text, '/nowhere'));

const sizes = new Map();
async function sizeOf(at) {
	if (!sizes.has(at))
		sizes.set(at, (await roles.visitor.request(at, { headers: { 'Accept-Encoding': 'gzip' } })).bytes.length);
	return sizes.get(at);
}

await check('first load is under 60 kB: HTML as it is, style, script and icon as browsers take them', async () => {
	let largest = { size: 0 };
	for (const { page, name } of found) {
		const parts = [...elements(page.document, 'link').filter(one => /stylesheet|icon/.test(attribute(one, 'rel'))).map(one => attribute(one, 'href')),
			...elements(page.document, 'script').map(one => attribute(one, 'src'))];
		let size = page.bytes.length;
		for (const part of parts)
			size += await sizeOf(part);
		if (size > largest.size)
			largest = { size, name };
		assert.ok(size < 60000, `${name}: ${size} bytes, of them ${page.bytes.length} HTML`);
	}
	console.log(`  largest: ${largest.size} bytes, ${largest.name}`);
});

await check('every title is its own', () => {
	const titles = new Map();
	for (const { page, name } of found) {
		assert.ok(page.title.length > 5, name);
		const kind = kindOf(page.at).split('?')[0];
		assert.ok(!titles.has(page.title) || titles.get(page.title) === kind, `${name} and ${titles.get(page.title)}: ${page.title}`);
		titles.set(page.title, kind);
	}
});

// ---- in a window ----

// Runs in the page: what is too low for a gloved finger. A link in running
// text is none of these (WCAG 2.5.8, inline).
function lowTargets() {
	const low = [];
	const shown = element => {
		const box = element.getBoundingClientRect();
		return box.width > 2 && box.height > 2 && box.right > 0 && getComputedStyle(element).visibility !== 'hidden';
	};
	for (const element of document.querySelectorAll('a[href], button, input, select, textarea, summary')) {
		if (element.type === 'hidden' || element.disabled || !element.checkVisibility() || !shown(element))
			continue;
		let target = element;
		if (element.matches('input[type=checkbox], input[type=radio]'))
			target = element.closest('label') ?? element.labels[0] ?? element;
		if (element.tagName === 'A' && getComputedStyle(element).display === 'inline') {
			const block = element.closest('p, li, dd, dt, td, th, caption, h1, h2, h3, figcaption, span, div, nav');
			if (block.textContent.trim().length > element.textContent.trim().length)
				continue;
		}
		const height = target.getBoundingClientRect().height;
		if (height < 47.5)
			low.push(`${Math.round(height)} px: ${element.outerHTML.slice(0, 120)}`);
	}
	return low;
}

// Runs in the page: what reaches past the right edge.
function wide() {
	const root = document.documentElement;
	if (root.scrollWidth <= root.clientWidth)
		return [];
	return [`${root.scrollWidth} of ${root.clientWidth} px`, ...[...document.querySelectorAll('body *')]
		.filter(one => one.getBoundingClientRect().right > root.clientWidth + 1 && !one.closest('.scroll, pre'))
		.slice(-3).map(one => one.outerHTML.slice(0, 120))];
}

const faultsOf = (page, options) => page.evaluate(async asked => {
	const { violations } = await globalThis.axe.run(document, { resultTypes: ['violations'], ...asked });
	return violations.flatMap(one => one.nodes.slice(0, 4).map(node => `${one.id}: ${one.help}: ${node.html.slice(0, 160)} ${node.any[0]?.message ?? ''}`));
}, options);

const everything = { runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }, rules: { 'color-contrast-enhanced': { enabled: true } } };
const contrast = { runOnly: { type: 'rule', values: ['color-contrast', 'color-contrast-enhanced'] } };
const none = (list, what) => assert.equal(list.length, 0, `${what}:\n${list.slice(0, 8).join('\n')}`);

async function look(window, go, name) {
	await window.setViewportSize(phone);
	await window.emulateMedia({ colorScheme: 'light' });
	await go(window);
	await window.evaluate(axe);
	await check(`phone, by day: ${name}`, async () => {
		none(await faultsOf(window, everything), 'axe');
		none(await window.evaluate(wide), 'sideways scrolling');
		none(await window.evaluate(lowTargets), 'low targets');
	});
	await window.evaluate(() => document.querySelectorAll('details').forEach(one => (one.open = true)));
	await check(`phone, by night, all unfolded: ${name}`, async () => {
		await window.emulateMedia({ colorScheme: 'dark' });
		none(await faultsOf(window, contrast), 'contrast');
		none(await window.evaluate(wide), 'sideways scrolling');
		none(await window.evaluate(lowTargets), 'low targets');
	});
	await check(`desk: ${name}`, async () => {
		await window.setViewportSize(desk);
		none(await window.evaluate(wide), 'sideways scrolling');
		none(await window.evaluate(lowTargets), 'low targets');
		await window.emulateMedia({ colorScheme: 'light' });
		none(await faultsOf(window, contrast), 'contrast');
		none(window.faults.splice(0), 'console');
	});
}

const chrome = await launch();

// What a page answers to its form: open it, do something, press the button.
const sent = (at, act, button) => async window => {
	await window.goto(at);
	await act(window);
	await Promise.all([window.waitForNavigation(), window.locator('main').getByRole('button', { name: button }).first().click()]);
};
const nothing = () => {};
const unfolded = window => window.evaluate(() => document.querySelectorAll('details').forEach(one => (one.open = true)));
const noPicture = [{ name: 'letter.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('no picture at all') }];

async function reportAgain(window) {
	await window.selectOption('[name=kit]', { index: 1 });
	await window.fill('[name=title]', 'Aileron pushrod guide: roller half off its pin');
	await window.fill('[name=part]', 'WH-2207-1');
	await window.fill('[name=seen]', 'The ring has sprung out of its groove, and the roller stands off its pin.');
	await window.locator('[name=severity]').first().check();
	await window.setInputFiles('[name=pictures]', noPicture);
}

async function pointNothingOut(window) {
	await window.goto('/under-way?notice=1');
	await window.goto(await window.locator('main ul.rows a.to').first().getAttribute('href'));
	await Promise.all([window.waitForNavigation(), window.locator('main').getByRole('button', { name: 'Point it out' }).click()]);
}

async function removedReport() {
	for (let id = 1; id < 80; id++)
		if (/This report was removed/.test((await roles.builder.open(`/reports/${id}`)).words))
			return `/reports/${id}`;
	throw new Error('the demonstration has no report that was removed');
}
const removed = await removedReport();

const answers = [
	['steward', 'a draft with faults', sent('/board/new', window => window.fill('[name=effectivity]', 'modle X'), 'Save the draft')],
	['builder', 'facts with faults', sent('/kits/1/facts', window => window.fill('[name=purchased]', '2017-13'), 'Save all facts')],
	['builder', 'a record with faults', sent('/kits/1/notices/15/record', nothing, 'Enter the record')],
	['builder', 'a token made', sent('/account/tokens', window => window.fill('[name=label]', 'a clock'), 'Make a token')],
	['admin', 'an invite made', sent('/admin/invites', nothing, 'Make an invite')],
	['visitor', 'a sign-in with faults', sent('/sign-in', nothing, 'Sign in')],
	['visitor', 'a check with faults', sent('/check', window => window.fill('[name=purchased]', '2017-13'), /Show what/)],
	['visitor', 'a check', sent('/check', window => window.fill('[name=model]', 'Whimbrel'), /Show what/)],
	['visitor', 'a search that finds nothing', window => window.goto('/notices?q=zzzz')],
	['builder', 'a report with faults', sent('/reports/new', nothing, 'Report it')],
	['builder', 'a report that repeats another', sent('/reports/new', reportAgain, 'Report it')],
	['builder', 'an answer with faults', sent('/reports/3', unfolded, 'Answer')],
	['builder', 'a note with faults', sent('/notices/1', unfolded, 'Add the note')],
	['builder', 'a note with a picture that is none', sent('/notices/1', async window => {
		await unfolded(window);
		await window.fill('main [name=text]', 'With a picture');
		await window.setInputFiles('main [name=pictures]', noPicture);
	}, 'Add the note')],
	['builder', 'a call with faults', sent('/reports/3/call', nothing, 'Call a steward')],
	['builder', 'addresses made', sent('/account/links', nothing, 'Make my addresses')],
	['builder', 'a question to the maker', sent('/kits/1/reports/3/ask', window => window.fill('[name=question]', 'May it stay?'), 'Put it on the sheet')],
	['builder', 'a report that was removed', window => window.goto(removed)],
	['builder', 'no report found', window => window.goto('/reports?q=zzzz')],
	['builder', 'no note found', window => window.goto('/notes?words=zzzz')],
	['steward', 'nothing pointed out', pointNothingOut],
	['steward', 'a link with faults', sent('/reports/20/link', window => window.fill('[name=number]', 'XX-1'), 'Link it')],
	['steward', 'a merge', window => window.goto('/reports/20/merge?into=15')],
	['steward', 'a call closed with faults', sent('/board/calls/1', nothing, 'Leave it, and close')],
	['steward', 'what an advisory says', window => window.goto('/reports/15/advisory')],
	['admin', 'all news read', sent('/news', nothing, 'All read')],
	['visitor', 'a missing page', window => window.goto('/nowhere')],
].map(([role, name, go]) => ({ role, go, name: `${role}, ${name}` }));

// Two windows at a time.
const queue = [...found.map(({ role, page, name }) => ({ role, name, go: window => window.goto(page.at) })), ...answers];
await Promise.all([0, 1].map(async () => {
	const windows = {};
	for (let one = queue.shift(); one; one = queue.shift()) {
		windows[one.role] ??= await openWindow(chrome, server.url, { session: roles[one.role] });
		await look(windows[one.role], one.go, one.name);
	}
}));

await check('without scripts no page is wider than a phone', async () => {
	for (const role of Object.keys(roles)) {
		const window = await openWindow(chrome, server.url, { session: roles[role], javaScriptEnabled: false });
		for (const { page, name } of found.filter(one => one.role === role)) {
			await window.goto(page.at);
			none(await window.evaluate(wide), name);
		}
		none(window.faults, 'console');
	}
});

await chrome.close();
await check('the server ends cleanly', async () => assert.equal(await server.stop(), 0));
finish();
