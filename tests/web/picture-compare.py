"""Pictures as phones, scanners and ill-wishers make them, cleaned by
picture_tool, and what comes out compared with Pillow (pixels, which way is up)
and ExifTool (that nothing is left of place, camera and words). Ends with
"N passed, N failed".

    python3 picture-compare.py BUILD/picture_tool

Samples are made here: by Pillow, by ExifTool (all eight orientations of CIPA
DC-008, GPS, XMP, IPTC, comments, colour profile, thumbnail), and by hand where
neither writes such files (W3C PNG, ITU-T T.81, RFC 9649).
"""
import json
import os
import struct
import subprocess
import sys
import tempfile
import zlib

from PIL import Image, ImageCms, ImageOps, features

TOOL = os.path.realpath(sys.argv[1])
SECRET = 'HANGAR-SEVEN'
LARGE, SMALL = 1600, 320
MEMORY_MOST = 100 * 1024  # kB of the whole process, for files that ask for much more

passed = failed = 0


def check(name, holds, *said):
    global passed, failed
    if holds:
        passed += 1
    else:
        failed += 1
        print('failed:', name, *said)


def clean(path):
    """What picture_tool says, its two pictures, and the most memory it had."""
    large, small = path + '.large', path + '.small'
    done = subprocess.run([TOOL, path, large, small], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    if done.returncode:
        return f'ended with {done.returncode}', large, small, 0
    said, memory = done.stdout.decode().splitlines()
    return said, large, small, int(memory)


def fit(size, side):
    longer = max(size)
    return size if longer <= side else tuple(max(1, (n * side + longer // 2) // longer) for n in size)


def on_white(image):
    image = image.convert('RGBA')
    paper = Image.new('RGBA', image.size, 'white')
    return Image.alpha_composite(paper, image).convert('RGB')


def difference(a, b):
    """Mean difference of both, made small, in one channel of 0 to 255."""
    a, b = (im.convert('RGB').resize((16, 16), Image.BOX) for im in (a, b))
    return sum(abs(x - y) for x, y in zip(a.tobytes(), b.tobytes())) / (16 * 16 * 3)


def check_taken(name, path, expected=None):
    """Both sizes are as Pillow shows the file, upright and on white."""
    said, large, small, _ = clean(path)
    if expected is None:
        with Image.open(path) as image:
            expected = on_white(ImageOps.exif_transpose(image))
    sizes = [fit(expected.size, LARGE), fit(fit(expected.size, LARGE), SMALL)]
    check(name, said == 'taken {}x{} {}x{}'.format(*sizes[0], *sizes[1]), said, sizes)
    if not said.startswith('taken'):
        return
    for made, size in zip((large, small), sizes):
        with Image.open(made) as image:
            check(f'{name}: size', image.size == size, image.size, size)
            check(f'{name}: kind', image.format in ('JPEG', 'PNG'), image.format)
            off = difference(expected.resize(size, Image.BOX), on_white(image))
            check(f'{name}: pixels', off < 6, off)


def check_refused(name, path, words):
    said, _, _, memory = clean(path)
    check(name, said.startswith('refused') and words in said, said)
    check(f'{name}: memory', memory < MEMORY_MOST, memory)


def upright(size=(640, 400)):
    """Another colour in each corner, on grey."""
    image = Image.new('RGB', size, (128, 128, 128))
    w, h = size[0] // 3, size[1] // 3
    for colour, at in (((220, 30, 30), (0, 0)), ((30, 200, 30), (size[0] - w, 0)),
                       ((30, 30, 220), (0, size[1] - h)), ((230, 220, 40), (size[0] - w, size[1] - h))):
        image.paste(colour, (*at, at[0] + w, at[1] + h))
    return image


def file_of(name, data):
    with open(name, 'wb') as out:
        out.write(data)
    return name


# ---- metadata ----

ALLOWED = {
    'File': {'FileType', 'FileTypeExtension', 'MIMEType', 'ImageWidth', 'ImageHeight', 'EncodingProcess', 'BitsPerSample',
             'ColorComponents', 'YCbCrSubSampling', 'Comment'},
    'JFIF': {'JFIFVersion', 'ResolutionUnit', 'XResolution', 'YResolution'},
    'PNG': {'ImageWidth', 'ImageHeight', 'BitDepth', 'ColorType', 'Compression', 'Filter', 'Interlace'},
    'PNG-pHYs': {'PixelsPerUnitX', 'PixelsPerUnitY', 'PixelUnits'},
    'Composite': {'ImageSize', 'Megapixels'},
    'ExifTool': {'ExifToolVersion'},
}


def exiftool(*words):
    done = subprocess.run(['exiftool', *words], capture_output=True, text=True)
    return done.stdout, done.stderr


def tags_of(paths):
    said, _ = exiftool('-j', '-a', '-G1', '-u', '-ee', '-n', *paths)
    return json.loads(said)


def foreign_tags(tags):
    left = []
    for key, value in tags.items():
        group, _, tag = key.partition(':')
        if key == 'SourceFile' or group == 'System':
            continue
        if tag not in ALLOWED.get(group, ()) or (tag == 'Comment' and not value.startswith('CREATOR: gd-jpeg')):
            left.append(key)
    return left


def metadata():
    profile = file_of('srgb.icc', ImageCms.ImageCmsProfile(ImageCms.createProfile('sRGB')).tobytes())
    upright((160, 100)).save('thumb.jpg')
    paths = []
    for kind, options in (('jpg', {'quality': 92}), ('png', {}), ('webp', {'quality': 92})):
        for orientation in range(1, 9):
            path = f'{kind}-{orientation}.{kind}'
            upright().save(path, **options)
            written, trouble = exiftool(
                '-overwrite_original', '-n', f'-IFD0:Orientation={orientation}', '-GPSLatitude=51.5', '-GPSLatitudeRef=N',
                '-GPSLongitude=0.12', '-GPSLongitudeRef=W', '-GPSAltitude=40', f'-Artist={SECRET}', f'-Make={SECRET}',
                f'-SerialNumber={SECRET}', f'-UserComment={SECRET}', f'-ImageDescription={SECRET}', f'-XMP-dc:Creator={SECRET}',
                f'-XMP-iptcCore:Location={SECRET}', '-XMP-exif:GPSLatitude=51.5', f'-ICC_Profile<={profile}',
                *([f'-IPTC:City={SECRET}', f'-Comment={SECRET}', '-ThumbnailImage<=thumb.jpg'] if kind == 'jpg' else []),
                *([f'-PNG:Author={SECRET}', f'-PNG:Comment={SECRET}'] if kind == 'png' else []), path)
            check(f'{path}: sample', '1 image files updated' in written, trouble)
            paths.append(path)
    for path, tags in zip(paths, tags_of(paths)):
        found = ' '.join(tags)
        check(f'{path}: the sample holds a place', 'GPS:GPSLatitude' in tags and 'XMP' in found and 'ICC' in found, found)
        check_taken(path, path)
    made = [path + end for path in paths for end in ('.large', '.small')]
    for path, tags in zip(made, tags_of(made)):
        left = foreign_tags(tags)
        check(f'{path}: nothing is left', not left, left)
        with open(path, 'rb') as file:
            check(f'{path}: no words are left', SECRET.encode() not in file.read())


# ---- colours ----

def chunk(name, data):
    return struct.pack('>I', len(data)) + name + data + struct.pack('>I', zlib.crc32(name + data))


PNG = b'\x89PNG\r\n\x1a\n'
ADAM7 = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))


def deep_png(image, interlaced):
    """16 bits a channel, perhaps interlaced (W3C PNG 8.1): Pillow writes neither."""
    width, height = image.size
    at = image.load()
    passes = ADAM7 if interlaced else ((0, 0, 1, 1),)
    rows = bytearray()
    for x0, y0, dx, dy in passes:
        for y in range(y0, height, dy):
            row = b''.join(bytes((c, 7)) for x in range(x0, width, dx) for c in at[x, y])
            if row:
                rows += b'\0' + row
    head = struct.pack('>IIBBBBB', width, height, 16, 2, 0, 0, int(interlaced))
    return PNG + chunk(b'IHDR', head) + chunk(b'IDAT', zlib.compress(bytes(rows))) + chunk(b'IEND', b'')


def colours():
    base, clear = upright(), upright().convert('RGBA')
    clear.putalpha(Image.linear_gradient('L').resize(base.size))
    for name, image, options in (
            ('grey.jpg', base.convert('L'), {}), ('cmyk.jpg', base.convert('CMYK'), {}),
            ('progressive.jpg', base, {'progressive': True}), ('full.jpg', base, {'subsampling': 0}),
            ('grey.png', base.convert('L'), {}), ('bits.png', base.convert('1'), {}), ('palette.png', base.quantize(8), {}),
            ('grey-clear.png', clear.convert('LA'), {}), ('clear.png', clear, {}),
            ('clear-palette.png', base.quantize(8), {'transparency': 0}), ('lossless.webp', base, {'lossless': True}),
            ('clear.webp', clear, {'quality': 90}), ('tiny.png', base.resize((1, 1)), {}), ('tiny.webp', base.resize((1, 1)), {}),
            ('wide.png', base.resize((5000, 2)), {}), ('tall.jpg', base.resize((2, 5000)), {}),
            ('large.jpg', base.resize((4032, 3024)), {}), ('large.webp', base.resize((2000, 3000)), {})):
        image.save(name, **options)
        check_taken(name, name)
    grey = Image.linear_gradient('L').resize(base.size)
    grey.convert('I').point(lambda v: v * 257).convert('I;16').save('grey16.png')
    check_taken('grey16.png', 'grey16.png', grey.convert('RGB'))
    for interlaced in (False, True):
        name = f'deep-{interlaced}.png'
        check_taken(name, file_of(name, deep_png(base, interlaced)), base)
    base.save('apng.png', save_all=True, append_images=[base.rotate(180)])
    check_taken('the first of several in a PNG', 'apng.png', base)


# ---- what must be refused, and cheaply ----

def idat(width, height):
    return chunk(b'IDAT', zlib.compress(b'\0' * (height * (1 + 3 * width))))


def head(width, height):
    return PNG + chunk(b'IHDR', struct.pack('>IIBBBBB', width, height, 8, 2, 0, 0, 0))


def packed(name, before, size):
    """A chunk of a few kB that unpacks to that many bytes."""
    return chunk(name, before + zlib.compress(b'x' * size, 9))


def many_scans(count):
    """A progressive JPEG of 16 million pixels whose last scan comes again and again."""
    Image.new('L', (4000, 4000), 90).save('scans.jpg', progressive=True)
    with open('scans.jpg', 'rb') as file:
        data = file.read()
    last = data.rindex(b'\xff\xda')
    return file_of('scans.jpg', data[:-2] + data[last:-2] * count + b'\xff\xd9')


def bombs():
    # Lossless: 14 bits for each side less one (WebP Lossless Bitstream Specification, section 3).
    vp8l = b'VP8L' + struct.pack('<I', 10) + b'\x2f' + struct.pack('<I', 16382 | 16382 << 14) + bytes(5)
    for name, data, words in (
            ('huge.png', head(60000, 60000) + chunk(b'IDAT', b'') + chunk(b'IEND', b''), '60000 by 60000 pixels'),
            ('most.png', head(0x7fffffff, 0x7fffffff) + chunk(b'IEND', b''), 'pixels, more than'),
            ('just.png', head(5001, 5000) + idat(5001, 5000) + chunk(b'IEND', b''), '5001 by 5000 pixels'),
            ('huge.jpg', b'\xff\xd8\xff\xc0\x00\x0b\x08\xff\xff\xff\xff\x01\x01\x11\x00\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00'
                         b'\xff\xd9', '65535 by 65535 pixels'),
            ('huge.webp', b'RIFF' + struct.pack('<I', 4 + len(vp8l)) + b'WEBP' + vp8l, '16383 by 16383 pixels')):
        check_refused(name, file_of(name, data), words)
    check_refused('many scans', many_scans(2000), 'does not open as a JPEG')
    # A canvas that the header says is small, and a picture in it that is not.
    Image.new('RGB', (8000, 8000)).save('inner.webp', lossless=True)
    with open('inner.webp', 'rb') as file:
        inner = file.read()[12:]
    small = b'VP8X' + struct.pack('<I', 10) + b'\0\0\0\0' + b'\x0f\0\0' * 2
    check_refused('a small canvas', file_of('canvas.webp', b'RIFF' + struct.pack('<I', 4 + len(small + inner)) + b'WEBP'
                                            + small + inner), 'does not open as a WebP')
    # Words and a colour profile that unpack to far more, around a good picture.
    words = packed(b'zTXt', b'Comment\0\0', 7 * 1024 * 1024) * 20 + packed(b'iCCP', b'p\0\0', 200 * 1024 * 1024) \
        + packed(b'iTXt', b'Comment\0\1\0\0\0', 7 * 1024 * 1024) * 20
    path = file_of('words.png', head(40, 30) + words + idat(40, 30) + words + chunk(b'IEND', b''))
    said, _, _, memory = clean(path)
    check('packed words', said == 'taken 40x30 40x30', said)
    check('packed words: memory', memory < MEMORY_MOST, memory)


def refused():
    base = upright((64, 40))
    base.save('moving.webp', save_all=True, append_images=[base.rotate(180)])
    check_refused('moving.webp', 'moving.webp', 'moves')
    base.save('one.gif')
    base.save('one.bmp')
    base.save('one.tif')
    for name in ('one.gif', 'one.bmp', 'one.tif'):
        check_refused(name, name, 'is neither')
    for kind in ('jpg', 'png', 'webp'):
        base.save(f'whole.{kind}')
        with open(f'whole.{kind}', 'rb') as file:
            data = file.read()
        for share in (1, 10, 30, 50, 70, 90, 97):
            check_refused(f'{share} % of a {kind}', file_of('cut', data[:len(data) * share // 100]), 'is ')
        for other in ('jpg', 'png', 'webp', 'exe'):
            check_taken(f'a {kind} named .{other}', file_of(f'named.{other}', data))


assert features.check('webp'), 'Pillow without WebP'
with tempfile.TemporaryDirectory() as folder:
    os.chdir(folder)
    metadata()
    colours()
    bombs()
    refused()
    os.chdir('/')
print(f'{passed} passed, {failed} failed')
sys.exit(failed > 0)
