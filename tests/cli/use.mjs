// Help and wrong use. Wrong use: one line on standard error, nothing on
// standard output, exit 2.
import assert from 'node:assert/strict';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { folder, run } from '../support/fairlead.mjs';

const commands = ['serve', 'decide', 'import', 'export', 'backup', 'verify', 'reseal'];
const data = folder();
const nowhere = path.join(data, 'nowhere');

await check('the overview names every command', () => {
	const done = run(['--help']);
	assert.equal(done.code, 0);
	assert.equal(done.err, '');
	for (const command of commands)
		assert.match(done.out, new RegExp(`^  fairlead ${command}\\b`, 'm'));
});

for (const command of commands)
	await check(`${command} --help`, () => {
		const done = run([command, '--help']);
		assert.equal(done.code, 0);
		assert.equal(done.err, '');
		assert.ok(done.out.startsWith(`fairlead ${command}`), done.out);
		assert.ok(done.out.split('\n').every(line => line.length <= 100), 'a line over 100 wide');
	});

await check('the help of serve names every option of it', () => {
	const { out } = run(['serve', '--help']);
	for (const option of ['--data DIR', '--listen ADDR:PORT', '--demo', '--url URL', '--behind-proxy'])
		assert.ok(out.includes(option), option);
});

const wrong = [
	[],
	[''],
	['nonsense'],
	['Serve', '--data', data],
	['--data', data],
	['--version-of-nothing'],
	['serve'],
	['serve', '--data'],
	['serve', '--data', data, 'a word too many'],
	['serve', '--data', data, '--nonsense'],
	['serve', '--data', data, '--listen'],
	['serve', '--data', data, '--listen', ''],
	['serve', '--data', data, '--listen', '8080'],
	['serve', '--data', data, '--listen', '127.0.0.1'],
	['serve', '--data', data, '--listen', '127.0.0.1:'],
	['serve', '--data', data, '--listen', ':8080'],
	['serve', '--data', data, '--listen', '127.0.0.1:http'],
	['serve', '--data', data, '--listen', '127.0.0.1:-1'],
	['serve', '--data', data, '--listen', '127.0.0.1:65536'],
	['serve', '--data', data, '--listen', '127.0.0.1:80x'],
	['serve', '--data', data, '--demo=yes'],
	['decide', 'file'],
	['decide', '--data', data],
	['import'],
	['import', 'file'],
	['import', '--data', data],
	['import', 'one', 'two', '--data', data],
	['import', 'file', '--data', data, '--demo'],
	['export'],
	['export', '--data'],
	['export', 'file', '--data', data],
	['export', '--data', data, '--listen', '127.0.0.1:0'],
	['backup', '--data', data],
	['backup', 'dest'],
	['backup', 'one', 'two', '--data', data],
	['verify'],
	['verify', 'file', '--data', data],
	['admin-link'],
	['admin-link', 'odo'],
	['admin-link', '--data', data],
	['admin-link', 'odo', 'ada', '--data', data],
	['verify', '--data', data, '--code-off'],
];

for (const args of wrong)
	await check(`wrong use: ${args.join(' ')}`, () => {
		const done = run(args);
		assert.equal(done.code, 2, `exit ${done.code}: ${done.err}`);
		assert.equal(done.out, '');
		assert.match(done.err, /^fairlead: [^\n]+\n$/);
	});

// Right use that cannot be done: one line, exit 1, and nothing is made.
const impossible = [
	['export', '--data', nowhere],
	['verify', '--data', nowhere],
	['backup', path.join(data, 'copy'), '--data', nowhere],
	['import', path.join(data, 'no-such-file'), '--data', nowhere],
	['import', '/dev/null', '--data', nowhere],
	['export', '--data', '/dev/null'],
	['admin-link', 'odo', '--data', nowhere],
];

for (const args of impossible)
	await check(`cannot be done: ${args.join(' ')}`, () => {
		const done = run(args);
		assert.equal(done.code, 1, `exit ${done.code}: ${done.err}`);
		assert.equal(done.out, '');
		assert.match(done.err, /^fairlead: [^\n]+\n$/);
	});

await check('nothing was made by any of these', async () => {
	const { readdirSync } = await import('node:fs');
	assert.deepEqual(readdirSync(data), []);
});

finish();
