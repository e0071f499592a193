/**
 * The head under the hair, drawn plainly, for a head of 560 mm around (the engine's unscaled surface): millimetres,
 * origin at the middle of the cranium, y down as SVG has it. Brow, lid, ear canal and nape sit at the landmarks of
 * the surface (brow z -7, upper lid margin -20, tragion -38, hairline at the nape -100); what lies between is drawn
 * freehand and measured from nobody.
 */
export interface Figure {
  /** Filled shapes of skin, farthest first. */
  readonly skin: readonly string[];
  /** Quiet lines of the face. */
  readonly lines: readonly string[];
  /** Ears: outline and inner line, drawn above the hair where it leaves them free. */
  readonly ears: readonly { readonly outline: string; readonly inner: string }[];
}

/** From the client's right: the face looks to the viewer's right. */
export const PROFILE_FIGURE: Figure = {
  skin: [
    'M79 -50C87 -37 94 -18 95.5 -4C96.6 2 97 6 95.5 10C93.6 14 92.2 17 92.8 22C95 32 103 45 111.5 55C114.5 59 ' +
      '112.5 65.5 106.5 66.6C102.5 67.2 99.5 68 99 71C98.8 75 101.5 78 102.6 81.5C103.2 84.5 ' +
      '100.5 86.2 96.5 87.6C100.5 88.6 102.6 90.5 101.6 94C100.6 98 95 100 94.4 105C94 110 98.4 113 ' +
      '98 120C97.5 127.5 91 132.5 83 132C72 131.4 62 126.5 53 124C46.5 122.5 44.5 129 45.5 140C46.5 154 ' +
      '48 166 54 178C40 186 -60 190 -96 182C-76 172 -62 156 -58.5 136C-57 120 -57 104 -58 92C-59 84 -61 76 -64 69' +
      'C-82 51 -94 25 -95 0C-95 -50 -52 -90 0 -90C34 -90 64 -72 79 -50Z',
  ],
  lines: [
    'M93 4C88 -0.5 80 -1.5 71 3',
    'M88.5 19.5C84 18.2 79.5 20 76 24.5',
    'M103.5 66.5C101 64.5 100.5 61 102.5 58',
    'M96.5 87.6C92.5 87.8 89.5 88.8 87 90.5',
    'M3 72C6 92 17 109 34 119',
  ],
  ears: [
    {
      outline:
        'M4 35C5 24 1 13 -10 10.5C-23 8 -32 19 -30.5 34C-29.5 45 -22 51 -17 60C-14 68 -5 71.5 -1 66C2 61 1.5 54 ' +
        '3 48C5.5 44 6 40 4 35Z',
      inner: 'M-3 22C-10 15 -22 19 -22.5 31C-22.5 41 -13 46 -9.5 54M1.5 35C-4 37 -5 43 -1 46',
    },
  ],
};

const BACK_HEAD =
  'M0 -90C42 -90 75 -50 75 0C75 18 72 32 68 44C65.5 58 63 72 58 84C54 96 50.5 106 50 120C49.5 136 53 150 70 160' +
  'C84 168 96 172 106 180C70 190 -70 190 -106 180C-96 172 -84 168 -70 160C-53 150 -49.5 136 -50 120' +
  'C-50.5 106 -54 96 -58 84C-63 72 -65.5 58 -68 44C-72 32 -75 18 -75 0C-75 -50 -42 -90 0 -90Z';

const RIGHT_EAR = {
  outline: 'M70 20C72 11 80 9 83.5 16C86 23 83 34 80 44C78 54 76 66 70.5 67C66.5 67 66 58 67 50Z',
  inner: 'M74 20C79 20 79.5 28 77.5 36',
};
const LEFT_EAR = {
  outline:
    'M-70 20C-72 11 -80 9 -83.5 16C-86 23 -83 34 -80 44C-78 54 -76 66 -70.5 67C-66.5 67 -66 58 -67 50Z',
  inner: 'M-74 20C-79 20 -79.5 28 -77.5 36',
};

/** From behind: the client's right is the viewer's right. */
export const BACK_FIGURE: Figure = {
  skin: [BACK_HEAD],
  lines: [],
  ears: [RIGHT_EAR, LEFT_EAR],
};

/** From the front: the client's right is the viewer's left. */
export const FRONT_FIGURE: Figure = {
  skin: [
    'M-46 96C-46 120 -46 142 -66 156C-82 166 -96 172 -106 180C-70 190 70 190 106 180C96 172 82 166 66 156' +
      'C46 142 46 120 46 96Z',
    'M0 -90C42 -90 75 -50 75 0C75 18 72 30 69 44C67 62 61 82 50 100C40 116 22 132 0 132C-22 132 -40 116 -50 100' +
      'C-61 82 -67 62 -69 44C-72 30 -75 18 -75 0C-75 -50 -42 -90 0 -90Z',
  ],
  lines: [
    'M15 9C23 4 35 3 47 8M-15 9C-23 4 -35 3 -47 8',
    'M17 22.5C23 18.5 38 18.5 45 23.5M-17 22.5C-23 18.5 -38 18.5 -45 23.5',
    'M-9 62C-7 67 -3 67 0 68.5C3 67 7 67 9 62',
    'M-22 88.5C-12 86 -5 84.5 0 86.5C5 84.5 12 86 22 88.5',
    'M-9 98C-3 100 3 100 9 98',
  ],
  ears: [RIGHT_EAR, LEFT_EAR],
};
