import { Semaphore } from 'async-mutex';
import type { Metadata } from 'sharp';
import { DomainError } from '../base/index.js';

/** Largest file that is taken, in bytes: 12 MiB. */
export const MOST_BYTES = 12 * 1024 * 1024;
/** Phones take up to 50 million pixels at once; a picture that claims more is not decoded. */
const MOST_PIXELS = 60_000_000;
const LONGEST_EDGE_PX = 1600;
const QUALITY = 82;
const DECODE_WITHIN_S = 20;
const FORMATS: readonly string[] = ['jpeg', 'png', 'webp'];

type Decoder = typeof import('sharp')['default'];

let loading: Promise<Decoder> | undefined;

/** Loaded with the first picture: it takes more memory than all our photographs. */
function loaded(): Promise<Decoder> {
  loading ??= import('sharp').then(({ default: sharp }) => {
    // No other decoder of the library may be reached with what a stranger sends.
    sharp.block({ operation: ['VipsForeignLoad'] });
    sharp.unblock({
      operation: ['VipsForeignLoadJpegBuffer', 'VipsForeignLoadPngBuffer', 'VipsForeignLoadWebpBuffer'],
    });
    return sharp;
  });
  return loading;
}

/** Decoding takes much memory: two at a time. */
const decoders = new Semaphore(2);

export type CleanPicture = {
  /** JPEG without any metadata: no place, no camera, no time. */
  readonly data: Buffer;
  readonly widthPx: number;
  readonly heightPx: number;
};

/**
 * Turns a picture upright, makes it at most 1,600 px long, and encodes it anew from its pixels, so that nothing else
 * of the file is kept. Takes JPEG, PNG and WebP, by what is inside and not by name. Throws PHOTO.MISSING, .TOO_LARGE,
 * .NOT_A_PICTURE, .TOO_MANY_PIXELS, .DAMAGED naming `field`.
 */
export async function cleanPicture(bytes: unknown, field: string): Promise<CleanPicture> {
  if (!(bytes instanceof Uint8Array) || bytes.length === 0) {
    throw DomainError.invalid('PHOTO.MISSING', field, 'Photo: choose a picture.');
  }
  if (bytes.length > MOST_BYTES) throw tooLarge(field);
  return await decoders.runExclusive(async () => {
    const sharp = await loaded();
    await requirePicture(bytes, field);
    try {
      // 'truncated': some phones write harmless oddities that the stricter levels would refuse.
      const { data, info } = await sharp(bytes, { failOn: 'truncated', limitInputPixels: MOST_PIXELS })
        .timeout({ seconds: DECODE_WITHIN_S })
        .autoOrient()
        .resize({
          width: LONGEST_EDGE_PX,
          height: LONGEST_EDGE_PX,
          fit: 'inside',
          withoutEnlargement: true,
        })
        .flatten({ background: 'white' })
        .jpeg({ quality: QUALITY })
        .toBuffer({ resolveWithObject: true });
      return { data, widthPx: info.width, heightPx: info.height };
    } catch {
      throw DomainError.invalid(
        'PHOTO.DAMAGED',
        field,
        'Photo: this picture is damaged or cut off. Take it again, or send the original file.',
      );
    }
  });
}

export function tooLarge(field: string): DomainError {
  return DomainError.invalid(
    'PHOTO.TOO_LARGE',
    field,
    `Photo: at most ${MOST_BYTES / 1024 / 1024} MB. Choose a smaller size in the camera, or send a smaller copy.`,
  );
}

/** Looks at the header alone. */
async function requirePicture(bytes: Uint8Array, field: string): Promise<void> {
  const sharp = await loaded();
  let header: Metadata;
  try {
    header = await sharp(bytes, { failOn: 'truncated', limitInputPixels: false }).metadata();
  } catch {
    throw notAPicture(field);
  }
  if (!FORMATS.includes(header.format)) throw notAPicture(field);
  if (header.width * header.height > MOST_PIXELS) {
    throw DomainError.invalid(
      'PHOTO.TOO_MANY_PIXELS',
      field,
      `Photo: at most ${MOST_PIXELS / 1_000_000} million pixels; this one has ${header.width} by ${header.height}. Send a smaller copy.`,
    );
  }
}

function notAPicture(field: string): DomainError {
  return DomainError.invalid(
    'PHOTO.NOT_A_PICTURE',
    field,
    'Photo: this is no JPEG, PNG or WebP picture. Choose a photo, or save it as JPEG first.',
  );
}
