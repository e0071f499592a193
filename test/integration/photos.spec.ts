import { mkdtemp, readdir, readFile, rm, stat, utimes, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import { validated } from '../../src/base/index.js';
import { Formulas, GrowthProfiles, VisitInput, Visits } from '../../src/cuts/index.js';
import { type Actor, AuditEntry } from '../../src/identity/index.js';
import { PHOTO_ANGLES, Photo, Photos } from '../../src/photos/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import { readSettings, UnitOfWork } from '../../src/store/index.js';
import { makeClient } from '../factories/clients.js';
import { phonePicture, pngBomb } from '../factories/photos.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const HOUR = 3_600_000;
const stylist: Actor = { accountId: null, role: 'stylist' };

describe('photographs of visits', () => {
  let plain: Buffer;
  let sideways: Buffer;
  let store: TestStore;
  let salon: TestSalon;
  let folder: string;
  let photos: Photos;
  let clientId: string;
  let visitId: string;

  beforeAll(async () => {
    plain = await phonePicture();
    sideways = await phonePicture('jpeg', { orientation: 6 });
  });
  beforeEach(async () => {
    store = await openTestStore('2026-06-01T10:00:00Z');
    salon = await makeSalon(store);
    folder = await mkdtemp(join(tmpdir(), 'halfinch-photos-'));
    photos = photosOn(store.units);
    clientId = (await makeClient(store, salon.salon.id)).id;
    visitId = await visit(clientId);
  });
  afterEach(async () => {
    await store.close();
    await rm(folder, { recursive: true });
  });

  const photosOn = (units: UnitOfWork) =>
    new Photos(units, store.reader, store.clock, store.audit, readSettings({ HALFINCH_DATA: folder }));
  const visit = async (whose: string): Promise<string> => {
    const { clock, audit, units } = store;
    const visits = new Visits(clock, audit, new Formulas(), new GrowthProfiles(), new ColourGate());
    const parties = { clientId: whose, staffId: salon.mara.id, serviceId: salon.fullCut.id };
    const input = await validated(VisitInput, parties);
    return (await units.run((manager) => visits.close(manager, input, stylist))).id;
  };
  const add = (picture: unknown, changes: object = {}) =>
    photos.add({ visitId, angle: 'back', moment: 'after', ...changes }, picture, stylist);
  const files = async () => (await readdir(join(folder, 'photos')).catch(() => [])).sort();
  const nothingKept = async () => {
    expect(await files()).toEqual([]);
    expect(await store.reader.manager.count(Photo)).toBe(0);
  };

  it('keeps a picture small, upright and without a trace of where, when or with what it was taken', async () => {
    // What went in does carry it, or the check would say nothing.
    const given = await sharp(sideways).metadata();
    expect(given.orientation).toBe(6);
    expect(given.exif?.toString('latin1')).toMatch(/Pocket Camera Works[\s\S]*2026:06:01/);

    // 12.34 seconds of the latitude as a rational, little-endian (EXIF 2.32, type 5).
    expect(given.exif?.includes(Buffer.from([0xd2, 4, 0, 0, 100, 0, 0, 0]))).toBe(true);

    const { id, ...record } = await add(sideways);
    // 2400 by 1800 turned a quarter, longest edge 1600.
    expect(record).toMatchObject({ widthPx: 1200, heightPx: 1600, angle: 'back', moment: 'after', visitId });
    const { data } = await photos.read(id);
    expect(data.length).toBe(record.bytes);
    const kept = await sharp(data).metadata();
    expect(kept).toMatchObject({ format: 'jpeg', width: 1200, height: 1600, space: 'srgb' });
    for (const part of ['exif', 'xmp', 'iptc', 'icc', 'orientation', 'comments'] as const) {
      expect(kept[part]).toBeUndefined();
    }
    // APP1 (EXIF, XMP) is marker FF E1, JEITA CP-3451; no such segment before the scan.
    expect(data.subarray(0, 600).includes(Buffer.from([0xff, 0xe1]))).toBe(false);
    expect(data.toString('latin1')).not.toMatch(/Exif|Pocket Camera|2026:06/);
    // Orientation 6: the sensor's left edge is at the bottom, its top on the right. Red was on top.
    // Figures of an image are always of the whole of it: cut the edge out first.
    const edge = async (left: number) => {
      const cut = sharp(data).extract({ left, top: 700, width: 100, height: 100 });
      return await sharp(await cut.png().toBuffer()).stats();
    };
    const [right, left] = [await edge(1050), await edge(50)];
    expect(right.channels[0]?.mean).toBeGreaterThan(240);
    expect(right.channels[2]?.mean).toBeLessThan(15);
    expect(left.channels[2]?.mean).toBeGreaterThan(240);
  });

  it.each(['png', 'webp'] as const)('takes %s and keeps it as JPEG', async (format) => {
    const { id } = await add(await phonePicture(format, { width: 300, height: 200 }));
    const { data } = await photos.read(id);
    // Never enlarged.
    expect(await sharp(data).metadata()).toMatchObject({ format: 'jpeg', width: 300, height: 200 });
  });

  it('puts transparent parts on white', async () => {
    const clear = { width: 50, height: 50, channels: 4 as const, background: { r: 0, g: 0, b: 0, alpha: 0 } };
    const { id } = await add(await sharp({ create: clear }).png().toBuffer());
    const { channels } = await sharp((await photos.read(id)).data).stats();
    expect(channels.map(({ mean }) => Math.round(mean))).toEqual([255, 255, 255]);
  });

  it('names files so that nobody can guess them, and tells nobody the names', async () => {
    const shown = [await add(plain), await add(plain)];
    const names = await files();
    expect(names).toHaveLength(2);
    for (const name of names) {
      // 256 random bits in base64url (RFC 4648).
      expect(name).toMatch(/^[\w-]{43}\.jpg$/);
      expect(
        JSON.stringify([shown, await photos.ofVisit(visitId), await photos.ofClient(clientId)]),
      ).not.toContain(name.slice(0, 43));
      const { mode } = await stat(join(folder, 'photos', name));
      expect(mode & 0o077).toBe(0);
    }
  });

  describe('before and after', () => {
    it('pairs by angle within one visit', async () => {
      await add(plain, { angle: 'front', moment: 'before' });
      const front = await add(plain, { angle: 'front' });
      store.clock.at += 60_000;
      const better = await add(plain, { angle: 'front' });
      await add(plain, { angle: 'nape', moment: 'before' });
      const pairs = await photos.pairs(visitId);
      expect(pairs.map(({ angle }) => angle)).toEqual(['front', 'nape']);
      expect(pairs[0]).toMatchObject({ before: { moment: 'before' }, after: { id: better.id } });
      expect(front.id).not.toBe(better.id);
      expect(pairs[1]).toMatchObject({ before: { angle: 'nape' }, after: null });
    });

    it('pairs two visits, the earlier one before, whichever way round they are asked for', async () => {
      const old = await add(plain, { angle: 'left side' });
      store.clock.at += 30 * 24 * HOUR;
      const later = await visit(clientId);
      const now = await add(plain, { angle: 'left side', visitId: later });
      for (const pairs of [await photos.pairs(later, visitId), await photos.pairs(visitId, later)]) {
        expect(pairs).toMatchObject([{ angle: 'left side', before: { id: old.id }, after: { id: now.id } }]);
      }
    });

    it('never lays another client beside her', async () => {
      const theirs = await visit((await makeClient(store, salon.salon.id)).id);
      await expect(photos.pairs(visitId, theirs)).rejects.toMatchObject({ code: 'PHOTO.OTHER_CLIENT' });
      await expect(photos.pairs(NOBODY)).rejects.toMatchObject({ code: 'VISIT.NOT_FOUND' });
    });
  });

  const svg = Buffer.from(
    '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect width="9"/></svg>',
  );
  const gif = Buffer.from('R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7', 'base64');
  const refused: [string, string, () => Buffer | string | undefined | Promise<Buffer>][] = [
    ['nothing', 'MISSING', () => undefined],
    ['an empty file', 'MISSING', () => Buffer.alloc(0)],
    ['text for bytes', 'MISSING', () => 'data:image/jpeg;base64,AAAA'],
    ['a text named .jpg', 'NOT_A_PICTURE', () => Buffer.from('Dear salon, here is my photo.\n'.repeat(40))],
    [
      'the first bytes of a JPEG and then text',
      'NOT_A_PICTURE',
      () => Buffer.from('\xff\xd8\xff\xe0 hello', 'latin1'),
    ],
    ['a drawing in SVG', 'NOT_A_PICTURE', () => svg],
    ['a GIF', 'NOT_A_PICTURE', () => gif],
    ['a PDF', 'NOT_A_PICTURE', () => Buffer.from('%PDF-1.7\n1 0 obj<<>>endobj\n%%EOF')],
    ['a TIFF', 'NOT_A_PICTURE', () => sharp(plain).resize(20).tiff().toBuffer()],
    ['a JPEG cut off in the middle', 'DAMAGED', () => plain.subarray(0, plain.length >> 1)],
    [
      'a JPEG cut off in its last twentieth',
      'DAMAGED',
      () => plain.subarray(0, Math.floor(plain.length * 0.95)),
    ],
    [
      'a PNG cut off in the middle',
      'DAMAGED',
      async () => {
        const png = await sharp(plain).resize(400).png().toBuffer();
        return png.subarray(0, png.length >> 1);
      },
    ],
    ['a PNG of 50 kB with 400 million pixels', 'TOO_MANY_PIXELS', () => pngBomb(20_000)],
    ['50 MB', 'TOO_LARGE', () => Buffer.concat([plain, Buffer.alloc(50_000_000)])],
    [
      'one byte more than 12 MiB',
      'TOO_LARGE',
      () => Buffer.concat([plain, Buffer.alloc(12 * 2 ** 20 + 1 - plain.length)]),
    ],
  ];
  it.each(refused)('refuses %s, names the field and keeps nothing', async (_, code, picture) => {
    await expect(add(await picture())).rejects.toMatchObject({
      kind: 'invalid',
      code: `PHOTO.${code}`,
      fields: [{ field: 'photo', message: expect.stringMatching(/^Photo: .+\.$/) }],
    });
    await nothingKept();
  });

  it('does not unpack a pixel bomb to refuse it', async () => {
    const bomb = pngBomb(20_000);
    expect(bomb.length).toBeLessThan(60_000);
    const before = process.memoryUsage().rss;
    await expect(add(bomb)).rejects.toMatchObject({ code: 'PHOTO.TOO_MANY_PIXELS' });
    // Unpacked it would take 400 MB.
    expect(process.memoryUsage().rss - before).toBeLessThan(100_000_000);
  });

  it.each([
    ['an angle of its own', { angle: 'from below' }, 'angle'],
    ['no angle', { angle: undefined }, 'angle'],
    ['an angle in a list', { angle: ['back'] }, 'angle'],
    ['a moment of its own', { moment: 'during' }, 'moment'],
    ['no visit', { visitId: undefined }, 'visitId'],
    ['a path for a visit', { visitId: '../../etc/passwd' }, 'visitId'],
    ['a file name', { file: '../x.jpg' }, 'file'],
  ])('refuses %s, names the field and keeps nothing', async (_, changes, field) => {
    await expect(add(plain, changes)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    await nothingKept();
  });

  it('refuses a visit nobody knows, and the 25th photo of one', async () => {
    await expect(add(plain, { visitId: NOBODY })).rejects.toMatchObject({ code: 'VISIT.NOT_FOUND' });
    await nothingKept();
    const small = await sharp(plain).resize(40).jpeg().toBuffer();
    for (let i = 0; i < 24; i += 1) await add(small, { angle: PHOTO_ANGLES[i % PHOTO_ANGLES.length] });
    await expect(add(small)).rejects.toMatchObject({ code: 'PHOTO.TOO_MANY' });
    expect(await files()).toHaveLength(24);
  });

  describe('files and rows in step', () => {
    const ageBy = async (ms: number) => {
      for (const name of await files()) {
        const at = new Date(store.clock.at - ms);
        await utimes(join(folder, 'photos', name), at, at);
      }
    };

    it('leaves no file behind when the row cannot be committed', async () => {
      class FailingAtCommit extends UnitOfWork {
        override async run<T>(work: Parameters<UnitOfWork['run']>[0]): Promise<T> {
          await super.run(async (manager) => {
            await work(manager);
            throw new Error('The disk went away at the commit.');
          });
          throw new Error('unreachable');
        }
      }
      const failing = photosOn(new FailingAtCommit(store.sources.writer));
      await expect(failing.add({ visitId, angle: 'top' }, plain, stylist)).rejects.toThrow('at the commit');
      await nothingKept();
    });

    it('sweeps what a crash left, prepared or settled, and nothing else', async () => {
      const { id } = await add(plain);
      const [known] = await files();
      const stray = (letter: string) => `${letter.repeat(43)}.jpg`;
      await writeFile(join(folder, 'photos', stray('a')), 'settled, never committed');
      await writeFile(join(folder, 'photos', `${stray('b')}.part`), 'prepared, never settled');
      await writeFile(join(folder, 'photos', 'notes.txt'), 'somebody else’s');
      await ageBy(30 * 60_000);
      // Might belong to a transaction on its way.
      expect(await photos.sweep()).toBe(0);
      await ageBy(2 * HOUR);
      expect(await photos.sweep()).toBe(2);
      expect(await files()).toEqual([known, 'notes.txt'].sort());
      expect((await photos.read(id)).data.length).toBeGreaterThan(1000);
    });

    it('takes the files of an erased client along with the next sweep', async () => {
      await add(plain);
      await store.units.run((manager) => manager.delete('client', { id: clientId }));
      expect(await store.reader.manager.count(Photo)).toBe(0);
      await ageBy(2 * HOUR);
      expect(await photos.sweep()).toBe(1);
      expect(await files()).toEqual([]);
    });

    it('says that a photo is gone when its file is', async () => {
      const { id } = await add(plain);
      const [name] = await files();
      await rm(join(folder, 'photos', name as string));
      await expect(photos.read(id)).rejects.toMatchObject({ kind: 'not-found', code: 'PHOTO.NOT_FOUND' });
      await expect(photos.read(NOBODY)).rejects.toMatchObject({ code: 'PHOTO.NOT_FOUND' });
    });

    it('removes a photo with its file, once', async () => {
      const { id } = await add(plain);
      await photos.remove(id, stylist);
      await nothingKept();
      await expect(photos.remove(id, stylist)).rejects.toMatchObject({ code: 'PHOTO.NOT_FOUND' });
      const entries = await store.reader.manager.find(AuditEntry, { where: { subjectId: clientId } });
      expect(entries.map(({ action }) => action)).toEqual(
        expect.arrayContaining(['photo.add', 'photo.remove']),
      );
    });
  });

  it('keeps the bytes that it counted', async () => {
    const { id, bytes } = await add(plain);
    expect((await photos.read(id)).data.length).toBe(bytes);
  });

  it('keeps no picture that a thief of the disk could look at', async () => {
    await add(plain);
    const [name] = await files();
    const stored = await readFile(join(folder, 'photos', name as string));
    await expect(sharp(stored).metadata()).rejects.toThrow('unsupported image format');
  });
});
