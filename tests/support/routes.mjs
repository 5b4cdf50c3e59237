// The rows of the route table, read from the rooms of server/web.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { root } from './fairlead.mjs';

const row = /\{HTTP_(GET|POST),\s*"([^"]+)",\s*CALL_(\w+),\s*(\w+),\s*\w+,\s*([^}]*)\}/g;

export function readRoutes() {
	const web = path.join(root, 'server/web');
	return fs.readdirSync(web).sort().flatMap(room => {
		const file = path.join(web, room, 'routes.inc');
		if (!fs.existsSync(file))
			return [];
		const text = fs.readFileSync(file, 'utf8');
		const routes = [...text.matchAll(row)].map(([, method, pattern, caller, handler, flags]) =>
			({ room, method, pattern, caller, handler, flags }));
		assert.equal(routes.length, text.match(/\{HTTP_/g)?.length ?? 0, `${file}: a row cannot be read`);
		return routes;
	});
}
