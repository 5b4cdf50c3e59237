// The edge of the real server, spoken to byte by byte: few files, broken
// connections, long queries. (What libmicrohttpd and the code before it do with
// slow and hostile peers is in test_httpd.c.)
//
// Sources: getrlimit(2) on RLIMIT_NOFILE; RFC 9110 section 15.5.15 (414), RFC 9457.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import net from 'node:net';
import readline from 'node:readline';
import { check, finish } from '../support/check.mjs';
import { binary, folder, serve } from '../support/fairlead.mjs';
import { request } from '../support/client.mjs';

// A connection from 127.0.0.LAST that says something and then nothing more.
const connect = (port, last, words = '') => new Promise((resolve, reject) => {
	const socket = net.connect({ port, host: '127.0.0.1', localAddress: `127.0.0.${last}` });
	socket.on('error', () => {});
	socket.once('close', () => reject(new Error('closed')));
	socket.once('connect', () => {
		socket.removeAllListeners('close');
		socket.write(words);
		resolve(socket);
	});
});

// A server with so many files at most; `errors` gathers what it says.
async function serveWith(files, data) {
	const server = spawn('bash', ['-c', 'ulimit -n "$1"; shift; exec "$@"', 'bash', String(files),
		binary, 'serve', '--data', data, '--listen', '127.0.0.1:0']);
	server.errors = '';
	server.stderr.setEncoding('utf8').on('data', text => (server.errors += text));
	server.ended = new Promise(resolve => server.on('close', code => resolve(code)));
	const first = new Promise(resolve => readline.createInterface({ input: server.stdout }).once('line', resolve));
	const line = await Promise.race([first, server.ended.then(() => '')]);
	server.port = Number(/:(\d+)$/.exec(line)?.[1]);
	return server;
}

await check('with 64 files it serves newcomers while 200 others hold on', async () => {
	const server = await serveWith(64, folder());
	assert.ok(server.port, server.errors);
	const url = `http://127.0.0.1:${server.port}/about`;
	const held = [];
	for (let i = 0; i < 200; i++) {
		held.push(await connect(server.port, 2 + i % 5, i % 2 ? 'GET /about HTTP/1.1\r\nX-Any: ' : ''));
		if (i % 20 === 19)
			assert.equal((await request(url, { headers: { Connection: 'close' } })).status, 200, `after ${i} others`);
	}
	for (const one of held)
		one.destroy();
	assert.equal((await request(url)).status, 200);
	server.kill('SIGTERM');
	assert.equal(await server.ended, 0);
	assert.ok(server.errors.split('\n').length < 20, server.errors);
});

await check('with too few files it says how many it takes, and ends', async () => {
	const server = await serveWith(40, folder());
	assert.equal(await server.ended, 1);
	assert.match(server.errors, /40 files may be open at once, \d+ are needed at least/);
});

await check('300 broken connections are a few lines with a count', async () => {
	const server = await serve(folder(), []);
	const port = Number(new URL(server.url).port);
	const halves = ['GET /abo', 'GET /about HTTP/1.1\r\nHost: x\r\n', 'POST /sign-in HTTP/1.1\r\nHost: x\r\nContent-Length: 90\r\n\r\nlogin='];
	for (let i = 0; i < 150; i++) {
		(await connect(port, 2 + i % 5, halves[i % halves.length])).resetAndDestroy();
		const refused = await connect(port, 2 + i % 5, 'GET /about HTTP/1.1\r\n\r\n');
		await new Promise(resolve => refused.once('close', resolve).resume());
	}
	assert.equal((await request(`${server.url}/about`)).status, 200);
	assert.equal(await server.stop(), 0);
	const lines = server.errors.split('\n').filter(line => /http: /.test(line));
	assert.ok(lines.length > 0 && lines.length < 20, `${lines.length} lines`);
	assert.ok(lines.some(line => /\(\d+ more like this\)/.test(line)), server.errors);
	assert.ok(!lines.some(line => line.includes('?')), 'line ends of the library are cut off');
});

await check('no query of the API is too long to be answered', async () => {
	const server = await serve(folder(), ['--demo']);
	const met = new Set();
	for (let n = 1; n <= 200; n += 8) {
		const words = encodeURIComponent('\u{1F6E9}'.repeat(n));
		const some = encodeURIComponent('\u{1F6E9}'.repeat(Math.min(n, 80)));
		for (const query of [`q=${words}`, `q=${words}&part=${some}&issuer=${some}&model=${some}&limit=1&offset=1`]) {
			const answer = await request(`${server.url}/api/v1/notices?${query}`);
			met.add(answer.status);
			if (answer.status === 414) {
				assert.equal(answer.headers['content-type'], 'application/problem+json');
				assert.equal(JSON.parse(answer.text).status, 414);
			} else {
				assert.equal(answer.status, 200, answer.text);
			}
		}
	}
	for (const [at, type] of [['/api/v1/notices', 'application/problem+json'], ['/notices', 'text/html; charset=utf-8']]) {
		const answer = await request(`${server.url}${at}?q=${'a'.repeat(9000)}`);
		assert.equal(answer.status, 414);
		assert.equal(answer.headers['content-type'], type);
	}
	assert.deepEqual([...met].sort(), [200, 414]);
	assert.equal(await server.stop(), 0);
});
finish();
