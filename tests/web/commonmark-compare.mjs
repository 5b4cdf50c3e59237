// Every example of the CommonMark specification (npm package commonmark-spec,
// spec.commonmark.org), shown by us and by MD4C's own HTML renderer.
//
//     BUILD=../../build node commonmark-compare.mjs
//
// Both have raw HTML off. The reference is brought to our differences, which
// web/html/markdown.h lists; an example that cannot be is left out and counted.
import { spawnSync } from 'node:child_process';
import path from 'node:path';
import spec from 'commonmark-spec';

const tool = path.join(process.env.BUILD ?? 'build', 'markdown_tool');
const examples = spec.tests.map(test => ({ text: test.markdown.replaceAll('→', '\t'), number: test.number }));

// Named entities that we know.
const known = new Set(('amp lt gt quot apos nbsp copy reg deg plusmn micro middot frac14 frac12 frac34 times ' +
	'ndash mdash hellip le ge ne').split(' '));

function leftOut({ text }) {
	const named = [...text.matchAll(/&([A-Za-z][A-Za-z0-9]*);/g)];
	if (named.some(([, name]) => !known.has(name)))
		return 'a named entity';
	// The reference keeps only the words of what stands in a picture's text.
	if (text.includes('!['))
		return 'a picture';
	return null;
}

// Line ends beside the tags of blocks mean nothing.
const blocks = 'p|blockquote|ul|ol|li|hr|h[1-6]|pre';
const beside = new RegExp(`\\n?(</?(?:${blocks})(?: [^>]*)?>)\\n?`, 'g');

function unlink(html) {
	return html.replace(/<a href="([^"]*)"([^>]*)>(.*?)<\/a>/gs, (all, href, rest, words) =>
		/^https?:\/\/[^/]/i.test(href) && !/[\\\s]|%5C|%20/.test(href)
			? `<a href="${href}"${rest} rel="nofollow ugc noopener">${words}</a>` : words);
}

function adapt(html) {
	return unlink(html)
		.replace(/<(\/?)h([1-6])>/g, (all, slash, level) => `<${slash}h${Math.min(6, 3 + Number(level))}>`)
		.replaceAll('<ol>', '<ol start="1">')
		.replace(/<code class="[^"]*">/g, '<code>')
		.replace(/<br>\n/g, '<br>')
		.replace(/(<pre><code>)(.*?)(<\/code><\/pre>)/gs, (all, a, code, b) => a + code.replaceAll('\n', '\u0001') + b)
		.replace(beside, '$1').replaceAll('\u0001', '\n');
}

// The reference writes addresses percent-encoded; ours are as typed.
function encode(html) {
	return html.replace(/href="([^"]*)"/g, (all, href) =>
		`href="${href.replace(/[^\x21-\x7e]|[[\]`\\^{}|]|&quot;|&#39;/g, c =>
			c === '&quot;' ? '%22' : c === '&#39;' ? "'" : encodeURIComponent(c))}"`);
}

const own = html => encode(html).replaceAll('&#39;', "'")
	.replace(/(<pre><code>)(.*?)(<\/code><\/pre>)/gs, (all, a, code, b) => a + code.replaceAll('\n', '\u0001') + b)
	.replace(beside, '$1').replaceAll('\u0001', '\n');

const run = spawnSync(tool, { input: examples.map(one => JSON.stringify(one)).join('\n'), maxBuffer: 1 << 28 });
const answers = run.stdout.toString().trimEnd().split('\n').map(line => JSON.parse(line));
const counts = {};
let passed = 0;
let failed = run.status === 0 && examples.length > 600 ? 0 : 1;
for (const [i, one] of examples.entries()) {
	const reason = leftOut(one);
	if (reason) {
		counts[reason] = (counts[reason] ?? 0) + 1;
	} else if (answers[i] && own(answers[i].ours ?? '') === adapt(answers[i].reference).replaceAll('&#39;', "'")) {
		passed++;
	} else {
		failed++;
		console.log(JSON.stringify({ ...one, ...answers[i], own: own(answers[i].ours ?? ''), adapted: adapt(answers[i].reference) }, null, 1));
	}
}
console.log(`${examples.length} examples; left out for ${JSON.stringify(counts)}`);
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
