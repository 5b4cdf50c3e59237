// What a person does at a page: reads its words, follows links, presses buttons,
// fills in fields; everything is found by the words on it, as a person finds it.
import assert from 'node:assert/strict';
import { check } from '../support/check.mjs';

const wait = 10000;

// What is on the page as one line of words.
export const words = async page => (await page.locator('body').innerText()).replace(/\s+/g, ' ');

export async function sees(page, pattern) {
	const all = await words(page);
	assert.ok(pattern.test(all), `${page.url().slice(0, 80)} does not say ${pattern}:\n${all.slice(0, 1500)}`);
}

export async function seesNot(page, pattern) {
	const all = await words(page);
	assert.ok(!pattern.test(all), `${page.url().slice(0, 80)} says ${pattern}:\n${all.slice(0, 1500)}`);
}

// Presses a button or follows a link, and waits for the page that comes.
// within: the part of the page where it stands.
export async function press(page, name, role = 'button', nth = 0, within = page.locator('main')) {
	const what = within.getByRole(role, { name, exact: typeof name === 'string' }).nth(nth);
	await Promise.all([page.waitForNavigation({ timeout: wait }), what.click({ timeout: wait })]);
}

export const pressIn = (page, within, name) => press(page, name, 'button', 0, within);
export const follow = (page, name, nth) => press(page, name, 'link', nth);
export const goes = (page, at) => page.goto(at, { timeout: wait });
// A visitor's pages may be a minute old (max-age); this asks anew.
export async function goesAnew(page, at) {
	await goes(page, at);
	await page.reload({ timeout: wait });
}
export const fill = (page, label, value, nth = 0) =>
	page.locator('main').getByLabel(label, { exact: typeof label === 'string' }).nth(nth).fill(value, { timeout: wait });
export const none = page => assert.deepEqual(page.faults, []);

// Unfolds what is folded below a line, unless it is unfolded already; gives what is inside.
export async function unfold(page, name) {
	const folded = page.locator('main details').filter({ has: page.locator('summary').getByText(name) }).first();
	if (await folded.getAttribute('open', { timeout: wait }) === null)
		await folded.locator('summary').first().click({ timeout: wait });
	return folded;
}

// Steps of one journey, as [what happens, function]; the first that fails ends it.
export async function journey(name, steps) {
	for (const [what, step] of steps)
		if (!await check(`${name}: ${what}`, step))
			return;
}
