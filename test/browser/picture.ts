import sharp from 'sharp';

/** A picture as a camera makes one: not one colour, and larger than what is kept. */
export async function picture(background: string): Promise<Buffer> {
  const middle = await sharp({ create: { width: 800, height: 600, channels: 3, background: '#332211' } })
    .png()
    .toBuffer();
  return await sharp({ create: { width: 2000, height: 2400, channels: 3, background } })
    .composite([{ input: middle, top: 300, left: 300 }])
    .jpeg()
    .toBuffer();
}
