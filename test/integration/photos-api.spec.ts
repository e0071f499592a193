import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import type { Role } from '../../src/identity/index.js';
import { Photo } from '../../src/photos/index.js';
import { PASSWORD, startTestApp, type TestApp } from '../factories/app.js';
import { phonePicture, pngBomb } from '../factories/photos.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
type Part = string | Buffer;
type Reply = { readonly status: number; readonly body: Record<string, unknown> };

describe('photographs over HTTP', () => {
  let test: TestApp;
  let visitId: string;
  let clientId: string;
  let picture: Buffer;
  const tokens = new Map<string, string>();

  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    picture = await phonePicture();
    for (const role of ['stylist', 'desk', 'owner']) {
      const email = `${role}@wren-tallow.example.org`;
      const payload = { email, password: PASSWORD };
      const session = await test.app.inject({ method: 'POST', url: '/api/v1/sessions', payload });
      tokens.set(role, session.json().token);
    }
    const client = await test.ask('stylist', 'POST', '/api/v1/clients', { givenName: 'Odile' });
    clientId = (client.body as { client: { id: string } }).client.id;
    const visit = await test.ask('stylist', 'POST', '/api/v1/visits', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
    });
    visitId = (visit.body as { visit: { id: string } }).visit.id;
  });
  afterAll(() => test.close());

  const headers = (role: Role | 'nobody') =>
    role === 'nobody' ? {} : { authorization: `Bearer ${tokens.get(role)}` };
  const upload = async (
    role: Role | 'nobody',
    parts: [name: string, value: Part][],
    id = visitId,
  ): Promise<Reply> => {
    const form = new FormData();
    for (const [name, value] of parts) {
      if (typeof value === 'string') form.append(name, value);
      else form.append(name, new Blob([new Uint8Array(value)], { type: 'image/jpeg' }), 'IMG_0001.jpg');
    }
    const encoded = new Response(form);
    const answer = await test.app.inject({
      method: 'POST',
      url: `/api/v1/visits/${id}/photos`,
      headers: { ...headers(role), 'content-type': encoded.headers.get('content-type') ?? '' },
      payload: Buffer.from(await encoded.arrayBuffer()),
    });
    return { status: answer.statusCode, body: answer.json() };
  };
  const image = (role: Role | 'nobody', id: string) =>
    test.app.inject({ method: 'GET', url: `/api/v1/photos/${id}/image`, headers: headers(role) });
  const count = () => test.reader.manager.count(Photo);

  it('takes a form, shows the picture to stylists and the owner only, and forgets it when told', async () => {
    const added = await upload('stylist', [
      ['angle', 'left side'],
      ['moment', 'before'],
      ['photo', picture],
    ]);
    expect(added.status).toBe(201);
    const { id } = added.body['photo'] as { id: string };
    for (const role of ['stylist', 'owner'] as const) {
      const shown = await image(role, id);
      expect(shown.statusCode).toBe(200);
      expect(shown.headers).toMatchObject({
        'content-type': 'image/jpeg',
        'cache-control': 'private, no-store',
        'x-content-type-options': 'nosniff',
      });
      expect((await sharp(shown.rawPayload).metadata()).exif).toBeUndefined();
    }
    expect((await image('desk', id)).statusCode).toBe(403);
    expect((await image('nobody', id)).statusCode).toBe(401);
    for (const path of [`visits/${visitId}/photos`, `clients/${clientId}/photos`]) {
      const list = await test.ask('stylist', 'GET', `/api/v1/${path}`);
      expect(list.body).toMatchObject({ photos: [{ id, angle: 'left side', moment: 'before' }] });
      expect((await test.ask('desk', 'GET', `/api/v1/${path}`)).status).toBe(403);
    }
    const pairs = await test.ask('owner', 'GET', `/api/v1/visits/${visitId}/photo-pairs`);
    expect(pairs.body).toMatchObject({ pairs: [{ angle: 'left side', before: { id }, after: null }] });

    expect((await test.ask('desk', 'DELETE', `/api/v1/photos/${id}`)).status).toBe(403);
    expect((await test.ask('stylist', 'DELETE', `/api/v1/photos/${id}`)).status).toBe(204);
    expect((await image('stylist', id)).statusCode).toBe(404);
  });

  it.each([
    ['desk', 403],
    ['nobody', 401],
  ] as const)('reads nothing of a form from %s', async (role, status) => {
    const sent = await upload(role, [
      ['angle', 'back'],
      ['photo', picture],
    ]);
    expect(sent.status).toBe(status);
    expect(await count()).toBe(0);
  });

  const big = () => Buffer.concat([picture, Buffer.alloc(50_000_000)]);
  it.each<[string, string, string, () => [string, Part][]]>([
    [
      '50 MB',
      'PHOTO.TOO_LARGE',
      'photo',
      () => [
        ['angle', 'back'],
        ['photo', big()],
      ],
    ],
    [
      'a text named .jpg',
      'PHOTO.NOT_A_PICTURE',
      'photo',
      () => [
        ['angle', 'back'],
        ['photo', Buffer.from('hi')],
      ],
    ],
    [
      'a pixel bomb',
      'PHOTO.TOO_MANY_PIXELS',
      'photo',
      () => [
        ['angle', 'back'],
        ['photo', pngBomb(20_000)],
      ],
    ],
    ['no picture', 'PHOTO.MISSING', 'photo', () => [['angle', 'back']]],
    [
      'words for the picture',
      'PHOTO.MISSING',
      'photo',
      () => [
        ['angle', 'back'],
        ['photo', 'IMG_1.jpg'],
      ],
    ],
    [
      'two pictures',
      'PHOTO.FORM',
      'photo',
      () => [
        ['angle', 'back'],
        ['photo', picture],
        ['photo', picture],
      ],
    ],
    [
      'a picture in another field',
      'PHOTO.FORM',
      'photo',
      () => [
        ['angle', 'back'],
        ['file', picture],
      ],
    ],
    [
      'a long angle',
      'PHOTO.',
      'photo',
      () => [
        ['angle', 'x'.repeat(5000)],
        ['photo', picture],
      ],
    ],
    ['no angle', 'INPUT.INVALID', 'angle', () => [['photo', picture]]],
    [
      'a way out of the folder',
      'INPUT.INVALID',
      'file',
      () => [
        ['angle', 'back'],
        ['file', '../x'],
        ['photo', picture],
      ],
    ],
  ])('refuses %s in words of its field, and keeps nothing', async (_, code, field, parts) => {
    const { status, body } = await upload('stylist', parts());
    expect({ status, ...body }).toMatchObject({
      status: 422,
      code: expect.stringContaining(code),
      fields: [{ field, message: expect.stringMatching(/\w+ \w+/) }],
    });
    expect(await count()).toBe(0);
  });

  it('refuses what is no form, breaks off, or names no visit', async () => {
    const ask = (payload: Buffer | object, type?: string) =>
      test.app.inject({
        method: 'POST',
        url: `/api/v1/visits/${visitId}/photos`,
        headers: { ...headers('stylist'), ...(type && { 'content-type': type }) },
        payload,
      });
    const json = await ask({ angle: 'back', photo: 'AAAA' });
    expect(json.statusCode).toBe(422);
    const cut = Buffer.from(
      '--b\r\ncontent-disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\nhalf',
    );
    const broken = await ask(cut, 'multipart/form-data; boundary=b');
    expect(broken.statusCode).toBe(422);
    expect(broken.json()).toMatchObject({ code: 'PHOTO.FORM', fields: [{ field: 'photo' }] });
    const unbounded = await ask(cut, 'multipart/form-data');
    expect(unbounded.statusCode).toBeGreaterThanOrEqual(400);
    expect(unbounded.statusCode).toBeLessThan(500);
    for (const [id, status] of [
      [NOBODY, 404],
      ['..%2f..', 422],
    ] as const) {
      const sent = await upload(
        'stylist',
        [
          ['angle', 'back'],
          ['photo', picture],
        ],
        id,
      );
      expect(sent.status).toBe(status);
    }
    expect(await count()).toBe(0);
  });
});
