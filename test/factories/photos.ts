import { crc32, deflateSync } from 'node:zlib';
import sharp from 'sharp';

/**
 * A picture as a phone takes it, 4 by 3: red above, blue below as the sensor lies, with camera, time and place in its
 * EXIF block. `orientation` is the EXIF tag: 6 means that it must be turned a quarter to the right to stand upright.
 */
export async function phonePicture(
  format: 'jpeg' | 'png' | 'webp' = 'jpeg',
  { width = 2400, height = 1800, orientation = 1 } = {},
): Promise<Buffer> {
  const band = { width, height: height / 2, channels: 3 as const };
  const blue = await sharp({ create: { ...band, background: '#0000ff' } })
    .png()
    .toBuffer();
  // What stands in the rooms' own process may have closed every decoder but those a photo needs; PNG is one of them.
  return await sharp({ create: { width, height, channels: 3, background: '#ff0000' } })
    .composite([{ input: blue, top: height / 2, left: 0 }])
    .withExif({
      IFD0: { Make: 'Pocket Camera Works', Model: 'P-1' },
      IFD2: { DateTimeOriginal: '2026:06:01 09:12:00' },
      IFD3: {
        GPSLatitudeRef: 'N',
        GPSLatitude: '51/1 45/1 1234/100',
        GPSLongitudeRef: 'W',
        GPSLongitude: '1/1 15/1 5678/100',
      },
    })
    .withMetadata({ orientation })
    .toFormat(format)
    .toBuffer();
}

function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const length = Buffer.alloc(4);
  length.writeUInt32BE(data.length);
  const sum = Buffer.alloc(4);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, sum]);
}

/** A valid PNG (W3C PNG specification, chunks IHDR, IDAT, IEND) of one bit a pixel: tiny as a file, huge when decoded. */
export function pngBomb(edge: number): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(edge, 0);
  header.writeUInt32BE(edge, 4);
  header[8] = 1;
  const rows = Buffer.alloc(edge * (1 + Math.ceil(edge / 8)));
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', header),
    chunk('IDAT', deflateSync(rows, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
