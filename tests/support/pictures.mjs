// Pictures as they come from disks: photographs with place and camera (drawn by
// the browser, marked by ExifTool), and files that are not what they seem.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import zlib from 'node:zlib';

function exiftool(...args) {
	const done = spawnSync('exiftool', args, { encoding: 'utf8' });
	assert.equal(done.status, 0, `exiftool: ${done.error ?? done.stderr}`);
	return done.stdout;
}

// A JPEG picture with the place and the camera of a phone, made in a folder; gives its path.
export async function photograph(page, folder, name, colour = 'teal') {
	const file = path.join(folder, name);
	const blank = await page.context().browser().newPage({ viewport: { width: 640, height: 480 } });
	await blank.setContent(`<body style="background:${colour}"><h1>${name}</h1>`);
	fs.writeFileSync(file, await blank.screenshot({ type: 'jpeg' }));
	await blank.context().close();
	exiftool('-q', '-overwrite_original', '-GPSLatitude=51.5', '-GPSLatitudeRef=N', '-GPSLongitude=7.25', '-GPSLongitudeRef=E',
		'-Make=Hangar', '-Model=Phone of a builder', '-Artist=HANGAR-SEVEN', '-XMP:Creator=HANGAR-SEVEN', file);
	assert.ok(told(fs.readFileSync(file)).length > 3, 'the photograph tells nothing that could be taken out');
	return file;
}

// What the bytes of a picture tell beside the picture itself: tags of place, camera and words.
export function told(bytes) {
	const done = spawnSync('exiftool', ['-j', '-G1', '-a', '-u', '-'], { input: bytes, encoding: 'utf8' });
	assert.equal(done.status, 0, `exiftool: ${done.error ?? done.stderr}`);
	return Object.keys(JSON.parse(done.stdout)[0])
		.filter(tag => !/^(SourceFile|(ExifTool|System|File|JFIF|PNG|Composite):)/.test(tag) || /GPS/.test(tag));
}

function chunk(name, data) {
	const body = Buffer.concat([Buffer.from(name), data]);
	const head = Buffer.alloc(4), tail = Buffer.alloc(4);
	head.writeUInt32BE(data.length);
	tail.writeUInt32BE(crc32(body));
	return Buffer.concat([head, body, tail]);
}

// The sum of W3C PNG, annex D.
function crc32(bytes) {
	let sum = 0xffffffff;
	for (const byte of bytes) {
		sum ^= byte;
		for (let i = 0; i < 8; i++)
			sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
	}
	return (sum ^ 0xffffffff) >>> 0;
}

// A black PNG picture whose head promises width by height pixels, grey or with 3 samples a
// pixel in colour (W3C PNG, table 11.1). A few rows of it are there.
export function png(width, height, rows = height, samples = 1) {
	const head = Buffer.alloc(13);
	head.writeUInt32BE(width);
	head.writeUInt32BE(height, 4);
	head[8] = 8;
	head[9] = samples === 3 ? 2 : 0;
	return Buffer.concat([Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'), chunk('IHDR', head),
		chunk('IDAT', zlib.deflateSync(Buffer.alloc((width * samples + 1) * rows))), chunk('IEND', Buffer.alloc(0))]);
}
