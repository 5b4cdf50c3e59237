// Runs the program as a shell user would: commands to their end, servers on a
// free port, data in folders that go when the test ends.
import { spawn, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import readline from 'node:readline';

export const root = path.resolve(import.meta.dirname, '../..');
export const binary = path.join(process.env.BUILD ?? path.join(root, 'build'), 'fairlead');

const folders = [];
const servers = new Set();

process.on('exit', () => {
	for (const server of servers)
		server.kill('SIGKILL');
	for (const folder of folders)
		fs.rmSync(folder, { recursive: true, force: true });
});

// A new empty folder.
export function folder() {
	const made = fs.mkdtempSync(path.join(os.tmpdir(), 'fairlead-test-'));
	folders.push(made);
	return made;
}

// Runs a command to its end: { code, out, err }.
export function run(args, { input = '', timeout = 60000 } = {}) {
	const done = spawnSync(binary, args, { input, timeout, maxBuffer: 1 << 28, encoding: 'utf8' });
	if (done.error)
		throw done.error;
	return { code: done.status ?? done.signal, out: done.stdout, err: done.stderr };
}

// A running server. `lines` are those that it wrote to standard output so far;
// the first says where it listens.
class Server {
	constructor(data, options, [command, before] = [binary, []]) {
		this.lines = [];
		this.errors = '';
		this.data = data;
		this.process = spawn(command, [...before, 'serve', '--data', data, '--listen', '127.0.0.1:0', ...options]);
		servers.add(this);
		this.process.stderr.setEncoding('utf8').on('data', text => (this.errors += text));
		this.ended = new Promise(resolve =>
			this.process.on('close', (code, signal) => {
				servers.delete(this);
				this.waiting?.();
				resolve(code ?? signal);
			}));
		readline.createInterface({ input: this.process.stdout }).on('line', line => {
			this.lines.push(line);
			this.waiting?.();
		});
	}

	// The nth line of standard output, once it is there.
	async line(n) {
		while (this.lines.length <= n && servers.has(this))
			await new Promise(resolve => (this.waiting = resolve));
		if (this.lines.length <= n)
			throw new Error(`the server ended: ${this.errors}`);
		return this.lines[n];
	}

	kill(signal) {
		this.process.kill(signal);
	}

	// Asks it to end; resolves to the code that it left with.
	async stop() {
		this.kill('SIGTERM');
		return await this.ended;
	}
}

// Starts a server and waits until it listens; server.url is its address. It may be
// run by another command: [command, its words].
export async function serve(data, options = [], by = undefined) {
	const server = new Server(data, options, by);
	const line = await server.line(0);
	server.url = line.replace(/^listening on /, '');
	return server;
}

// The database as SQL text, without what changes by looking: when writing was last tried (/health).
// A server that runs tells news in the background: all of it only when that is at rest.
export function dump(data, tables = []) {
	const behind = 'select (select count(*) from kits, generation where told_version <> version or told_generation <> value)'
		+ ' + (select count(*) from reports where told = 0 and removed_at = 0 and merged_into is null);';
	for (let tries = 0, last; !tables.length && tries < 100; tries++) {
		const now = dumpNow(data, []);
		if (now === last && sql(path.join(data, 'fairlead.db'), behind) === '0')
			return now;
		last = now;
		Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 50);
	}
	return dumpNow(data, tables);
}

function dumpNow(data, tables) {
	const done = spawnSync('sqlite3', ['-readonly', path.join(data, 'fairlead.db'),
		tables.length ? `.dump ${tables.join(' ')}` : '.dump'], { encoding: 'utf8', maxBuffer: 1 << 28 });
	if (done.status !== 0)
		throw new Error(`sqlite3: ${done.stderr}`);
	return done.stdout.replace(/^INSERT INTO trial .*\n/gm, '');
}

// Runs SQL in a database file. Without triggers, unless asked: those that seal what
// is written call functions of the program, which this shell does not have.
export function sql(file, text, triggers = 'off') {
	const done = spawnSync('sqlite3', ['-bail', '-cmd', '.output /dev/null', '-cmd',
		`.dbconfig enable_trigger ${triggers}`, '-cmd', '.output stdout', file], { input: text, encoding: 'utf8' });
	if (done.status !== 0)
		throw new Error(`sqlite3: ${done.stderr}`);
	return done.stdout.trim();
}
