// static/openapi.json as a judge of answers: each answer is checked against the
// response of its operation by ajv (JSON Schema 2020-12, the dialect of OpenAPI
// 3.1), and an answer that the description does not name is a failure.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import Ajv2020 from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import { root } from '../support/fairlead.mjs';

export const description = JSON.parse(fs.readFileSync(path.join(root, 'static/openapi.json'), 'utf8'));

const ajv = new Ajv2020({ strict: true, allErrors: true, allowUnionTypes: true });
addFormats(ajv);
const placed = value => JSON.parse(JSON.stringify(value).replaceAll('"#/components/schemas/', '"parts#/$defs/'));
ajv.addSchema({ $id: 'parts', $defs: placed(description.components.schemas) });

const operations = Object.entries(description.paths).map(([pattern, methods]) => ({
	pattern,
	matches: new RegExp(`^${pattern.replace(/\./g, '\\.').replace(/\{[^}]+\}/g, '[^/]+')}$`),
	get: methods.get,
	methods: Object.keys(methods).filter(key => ['get', 'put', 'post', 'delete', 'options', 'head', 'patch', 'trace'].includes(key)),
}));

export const paths = operations.map(one => one.pattern);

export function operationOf(at) {
	return operations.find(one => one.matches.test(at.split('?')[0]));
}

const validators = new Map();

// Judges an answer to GET at an address; gives its JSON, or null without a body.
export function judge(at, answer) {
	const operation = operationOf(at);
	assert.ok(operation, `${at} is not described`);
	const described = operation.get.responses[answer.status];
	assert.ok(described, `${at} answered ${answer.status}, which is not described: ${answer.text.slice(0, 300)}`);
	for (const name of Object.keys(described.headers ?? {}))
		if (name !== 'Link' || answer.headers.link)
			assert.ok(answer.headers[name.toLowerCase()], `${at} has no ${name}`);
	if (!described.content) {
		assert.equal(answer.bytes.length, 0, `${at}: ${answer.status} has a body`);
		return null;
	}
	const [type] = Object.keys(described.content);
	assert.equal(answer.headers['content-type'], type, at);
	const key = `${operation.pattern} ${answer.status}`;
	const schema = described.content[type].schema;
	const value = JSON.parse(answer.text);
	if (!schema)
		return value;
	if (!validators.has(key))
		validators.set(key, ajv.compile(placed(schema)));
	const validate = validators.get(key);
	assert.ok(validate(value), `${at} (${answer.status}): ${ajv.errorsText(validate.errors)}\n${answer.text.slice(0, 500)}`);
	if (answer.status >= 400) {
		assert.equal(value.status, answer.status, 'RFC 9457: status repeats the status');
		if (answer.status === 400)
			assert.ok(value.errors?.length ?? true, at);
	}
	return value;
}
