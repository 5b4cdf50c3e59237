// Codes drawn on pages are read back as a phone's camera reads them, by other
// programs (librsvg draws, ZBar reads), and say the address that stands on the page.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import * as parse5 from 'parse5';
import { check, finish } from '../support/check.mjs';
import { folder, serve } from '../support/fairlead.mjs';
import { attribute, elements, join, signIn } from '../support/client.mjs';

const kept = folder();
const server = await serve(folder(), ['--demo', '--behind-proxy']);
const admin = await signIn(server.url, 'admin');
const builder = await signIn(server.url, 'builder');

function tool(command, args) {
	const done = spawnSync(command, args, { encoding: 'utf8' });
	assert.equal(done.status, 0, `${command}: ${done.error ?? done.stderr}`);
	return done.stdout;
}

// What the codes of a page say, in their order.
function codes(page) {
	const drawn = elements(page.document, 'svg').filter(one => / as a code$/.test(attribute(one, 'aria-label') ?? ''));
	return drawn.map((svg, i) => {
		const file = path.join(kept, `${i}.svg`);
		fs.writeFileSync(file, parse5.serializeOuter(svg).replace('<svg', '<svg xmlns="http://www.w3.org/2000/svg"'));
		tool('rsvg-convert', ['--output', `${file}.png`, file]);
		return tool('zbarimg', ['--quiet', '--raw', '-Sdisable', '-Sqrcode.enable', `${file}.png`]).replace(/\n$/, '');
	});
}

const addresses = page => [...page.words.match(/http:\/\/\S+/g) ?? [], ...page.links.filter(one => one.startsWith('otpauth:'))];

async function send(browser, at, action, values = {}) {
	const page = await browser.open(at);
	return browser.submit(page.form(action), values);
}

const member = async () => (await admin.open('/admin/members')).links.findLast(one => /^\/admin\/members\/\d+$/.test(one));
const sheets = {
	'an invite': () => send(admin, '/admin/invites', /^\/admin\/invites$/, { role: 'builder', label: 'Codes' }),
	'a new password': async () => send(admin, await member(), /\/reset$/),
	'a feed and a calendar': () => send(builder, '/account/links', /^\/account\/links$/),
	'codes at sign-in': async () => send(await join(admin, 'carla'), '/account/code', /^\/account\/code$/,
		{ password_now: 'a long password of carla' }),
};
for (const [name, make] of Object.entries(sheets))
	await check(`the code of ${name} is the address`, async () => {
		const page = await make();
		const read = codes(page);
		assert.ok(read.length > 0, page.words);
		assert.deepEqual(read, addresses(page));
	});

await server.stop();
finish();
