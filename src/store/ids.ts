import { randomFillSync } from 'node:crypto';
import { v7 } from 'uuid';

const ID_BYTES = 16;

/** Asking the system for a few random bytes costs as much as for many. */
const pool = new Uint8Array(ID_BYTES * 256);
let used = pool.length;

let lastMs = 0;
let sequence = 0;

function randomBytes(): Uint8Array {
  if (used === pool.length) {
    randomFillSync(pool);
    used = 0;
  }
  used += ID_BYTES;
  return pool.subarray(used - ID_BYTES, used);
}

/** A new UUID v7 (RFC 9562): random, and sorted by the order in which this process made it. */
export function newId(): string {
  const random = randomBytes();
  const now = Date.now();
  if (now > lastMs) {
    lastMs = now;
    sequence = new DataView(random.buffer, random.byteOffset).getInt32(0) & 0x7fff_ffff;
  } else {
    sequence = (sequence + 1) | 0;
    if (sequence === 0) lastMs += 1;
  }
  return v7({ random, msecs: lastMs, seq: sequence });
}
