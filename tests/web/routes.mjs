// The way from an address to its page: method, address, handler, its file, and
// the templates that the file's own functions name on the way from the handler.
//
//     node tests/web/routes.mjs           prints the table
//     node tests/web/routes.mjs --check   checks that it is whole
//
// Read from the sources alone. A template that a function of another file
// names is not seen; the handler's file shows where to look.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { check, finish } from '../support/check.mjs';
import { root } from '../support/fairlead.mjs';
import { readRoutes } from '../support/routes.mjs';

const web = path.join(root, 'server/web');
const files = fs.readdirSync(web, { recursive: true });
const sources = files.filter(name => name.endsWith('.c'));
const templates = new Set(files.map(name => path.basename(name)).filter(name => /\.(html|xml)$/.test(name)));

// The functions of a file with their bodies, by name.
function functionsOf(file) {
	const text = fs.readFileSync(path.join(web, file), 'utf8');
	return new Map([...text.matchAll(/^(?:static )?[a-z][\w ]*[ *]+(\w+)\([^;{]*?\)\n\{\n([\s\S]*?)^\}/gm)]
		.map(([, name, body]) => [name, body]));
}

const functions = new Map(sources.map(file => [file, functionsOf(file)]));
const homes = handler => sources.filter(file => functions.get(file).has(handler));

// What the handler and the functions that it names in its file say of templates.
function templatesOf(file, handler) {
	const own = functions.get(file);
	const seen = new Set([handler]);
	const found = new Set();
	for (const name of seen) {
		for (const [, template] of own.get(name).matchAll(/"([\w]+\.(?:html|xml))"/g))
			found.add(template);
		for (const [word] of own.get(name).matchAll(/\w+/g))
			if (own.has(word))
				seen.add(word);
	}
	return [...found];
}

const rows = readRoutes().map(route => {
	const [file = ''] = homes(route.handler);
	return { ...route, file, templates: file ? templatesOf(file, route.handler) : [] };
});

if (process.argv[2] === '--check') {
	await check('every handler stands once, in the room that has its row', () => {
		for (const row of rows)
			assert.deepEqual(homes(row.handler).map(file => path.dirname(file)), [row.room],
				`${row.method} ${row.pattern}: ${row.handler}`);
	});
	await check('every room that has rows is put into the table, and nothing else is', () => {
		const table = fs.readFileSync(path.join(web, 'routes.c'), 'utf8');
		assert.deepEqual([...table.matchAll(/^#include "web\/(\w+)\/routes\.inc"/gm)].map(one => one[1]),
			files.filter(name => name.endsWith('/routes.inc')).map(name => path.dirname(name)).sort());
		assert.ok(!table.includes('HTTP_'));
	});
	await check('every template that is named is there', () => {
		for (const row of rows)
			for (const name of row.templates)
				assert.ok(templates.has(name), `${row.pattern}: ${name}`);
	});
	await check('who posts calls no handler named as a page', () => {
		for (const row of rows)
			assert.ok(!(row.method === 'POST' && row.handler.startsWith('page_')), row.handler);
	});
	finish();
} else {
	for (const row of rows)
		console.log([row.method.padEnd(4), row.pattern.padEnd(52), row.handler.padEnd(26),
			row.file.padEnd(28), row.templates.join(' ')].join(' ').trimEnd());
}
