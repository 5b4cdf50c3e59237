// The largest pictures that are taken, opened while other bodies fill what they may, under
// the MemoryMax of deploy/fairlead.service as a real control group holds it: nothing is
// ended, and the most that was used is printed. Where no group can be made here (not
// root, or no controller) that is said, and only the pictures are checked.
//
//     BUILD=build node tests/fault/memory.mjs
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';

import { check, finish, skip } from '../support/check.mjs';

const root = path.resolve(import.meta.dirname, '../..');
const real = path.resolve(process.env.BUILD ?? path.join(root, 'build'), 'fairlead');
const work = fs.mkdtempSync(path.join(os.tmpdir(), 'fairlead-memory-'));
const unit = fs.readFileSync(path.join(root, 'deploy/fairlead.service'), 'utf8');
const limit = Number(/^MemoryMax=(\d+)M$/m.exec(unit)[1]) * 1024 * 1024;

// ---- the control group, of either version of the kernel's interface ----

function makeGroup() {
	const two = fs.existsSync('/sys/fs/cgroup/cgroup.controllers');
	const group = path.join(two ? '/sys/fs/cgroup' : '/sys/fs/cgroup/memory', `fairlead-test-${process.pid}`);
	try {
		fs.mkdirSync(group);
		fs.writeFileSync(path.join(group, two ? 'memory.max' : 'memory.limit_in_bytes'), String(limit));
	} catch {
		return null;
	}
	const read = name => fs.readFileSync(path.join(group, name), 'utf8');
	return {
		procs: path.join(group, 'cgroup.procs'),
		most: () => Number(read(two ? 'memory.peak' : 'memory.max_usage_in_bytes')),
		ended: () => Number(/^oom_kill (\d+)$/m.exec(read(two ? 'memory.events' : 'memory.oom_control'))?.[1] ?? 0),
		remove: () => fs.rmdirSync(group),
	};
}

const group = makeGroup();
fs.writeFileSync(path.join(work, 'fairlead'), `#!/bin/sh\n${group ? `echo $$ >${group.procs}\n` : ''}exec ${real} "$@"\n`, { mode: 0o755 });
process.env.BUILD = work;
const { folder, serve } = await import('../support/fairlead.mjs');
const { nextPeer, signIn } = await import('../support/client.mjs');

// ---- pictures of 40 million pixels, the dearest of each kind ----

function draw(name, mode, options) {
	const file = path.join(work, name);
	const done = spawnSync('/usr/bin/python3', ['-c', `
from PIL import Image
Image.linear_gradient('L').resize((6324, 6324)).convert('${mode}').save('${file}', ${options})`], { encoding: 'utf8' });
	assert.equal(done.status, 0, done.stderr);
	return { filename: name, bytes: fs.readFileSync(file) };
}

const pictures = [
	draw('progressive.jpg', 'RGB', 'progressive=True, subsampling=0, quality=80'),
	draw('lossless.webp', 'RGBA', 'lossless=True, quality=20, method=1'),
	draw('clear.png', 'RGBA', 'compress_level=1'),
];

// ---- others, who send large bodies and never end ----

function fill(server, cookie, bytes) {
	const socket = net.connect(new URL(server.url).port, '127.0.0.1');
	socket.on('error', () => {});
	socket.on('data', said => console.log(`a body was not held: ${String(said).split('\r\n')[0]}`));
	socket.write(`POST /notices/1/notes HTTP/1.1\r\nHost: here\r\nX-Forwarded-For: ${nextPeer()}\r\nCookie: ${cookie}\r\n`
		+ `Content-Type: multipart/form-data; boundary=x\r\nContent-Length: ${bytes + 1}\r\n\r\n`);
	socket.write(Buffer.alloc(bytes, 'x'));
	return socket;
}

const server = await serve(folder(), ['--demo', '--behind-proxy']);
const steward = await signIn(server.url, 'steward');
const draft = (await steward.post('/board/new', [...(await steward.open('/board/new')).form(/board\/new$/).fields
	.filter(one => one.name === 'token').map(one => ['token', one.value]), ['number', 'HF-SB-99'], ['kind', 'service bulletin'],
['force', 'mandatory']])).headers.location.match(/\d+/)[0];
const cookie = [...steward.cookies].map(one => one.join('=')).join('; ');
const holding = [1, 2, 3].map(() => fill(server, cookie, 40 * 1024 * 1024 - 1000)); // BODIES_MOST, and BODY_PICTURES each

for (const picture of pictures)
	await check(`${picture.filename}, ${picture.bytes.length} bytes, is opened`, async () => {
		const page = await steward.open(`/board/drafts/${draft}/files`);
		const answer = await steward.submit(page.form(/files$/), { file: picture });
		assert.match(answer.at, /said=file-added/, answer.words);
	});
const [, held] = /VmRSS:\s+(\d+)/.exec(fs.readFileSync(`/proc/${server.process.pid}/status`, 'utf8'));
console.log(`the service alone, with the bodies that it holds: ${(held / 1024).toFixed(0)} MB`);
holding.forEach(one => one.destroy());
if (group) {
	await check('nothing was ended for its memory', () => assert.equal(group.ended(), 0));
	console.log(`most used under a limit of ${limit / 1048576} MB: ${(group.most() / 1048576).toFixed(0)} MB`);
} else {
	skip('the limit of memory', 'no control group can be made here');
}
await check('the server ends as it should', async () => assert.equal(await server.stop(), 0));
group?.remove();
fs.rmSync(work, { recursive: true });
finish();
