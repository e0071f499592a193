import type { LandmarkReading, ReadLandmark } from '../landmarks.js';
import type { WeightLine } from '../weight-line.js';

const NAMES: Readonly<Record<ReadLandmark, string>> = {
  brow: 'the brow',
  'lid-crease': 'the lid crease',
  'upper-lid': 'the upper lid margin',
  'ear-canal': 'the ear canal',
  'nape-hairline': 'the nape hairline',
  collar: 'the collar',
};

const ZONES_IN_WORDS: Readonly<Record<string, string>> = {
  fringe: 'Fringe',
  'left-side': 'Left side',
  'right-side': 'Right side',
  back: 'Back',
  nape: 'Nape',
};

/** What a drawing shows, for those who hear it: where the hair ends against the landmarks and where the weight lies. */
export function shapeInWords(readings: readonly LandmarkReading[], line?: WeightLine): string {
  const sentences = readings
    .filter(({ landmark }) => landmark !== 'lid-crease' && landmark !== 'upper-lid' && landmark !== 'collar')
    .map(
      ({ zone, landmark, aboveMm }) =>
        `${ZONES_IN_WORDS[zone]} ends ${distance(aboveMm)} ${NAMES[landmark]}.`,
    );
  if (line) sentences.push(lineInWords(line));
  return sentences.join(' ');
}

function distance(aboveMm: number): string {
  if (Math.abs(aboveMm) < 1) return 'at';
  return `${(Math.abs(aboveMm) / 10).toFixed(1)} cm ${aboveMm > 0 ? 'above' : 'below'}`;
}

function lineInWords({ kind, lineZMm, share10 }: WeightLine): string {
  if (lineZMm === null) return 'No weight line.';
  const place = `${distance(lineZMm)} the widest part of the head`;
  const share = `${Math.round(share10 * 100)} % of the ends lie within 1 cm`;
  return kind === 'graduation'
    ? `The graduation ends in a weight line ${place}.`
    : `Weight line ${place}; ${share}.`;
}
