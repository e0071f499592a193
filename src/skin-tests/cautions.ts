/** Shown on every page and in every answer that touches skin tests or colour. */
export const CAUTIONS: readonly string[] = [
  "The maker's instructions, local rules and licensed practice stand above everything shown here: whether, where, how long and how often to test, how long a test counts, and the least age.",
  // Regulation (EC) 1223/2009, Annex III, label of oxidative dyes: "can cause severe allergic reactions".
  'Hair colour can cause severe allergic reactions. A skin test that reads clear after 48 hours is not a diagnosis and does not rule a reaction out.',
  // Am J Contact Dermat 1996;7:231.
  'In a published series of patch tests about a third of the positive ones showed only at day 3: ask the client to keep looking and to tell you.',
  // Cosmetics Europe 2023 and trade advice: before every colouring.
  "Many makers ask for a skin test before every colouring. The salon's validity never makes theirs longer.",
  // Regulation (EC) 1223/2009, Annex III, the same label.
  'Do not colour on a rash on the face or a sensitive, irritated or damaged scalp, nor after any earlier reaction to colouring or to a black-henna tattoo.',
  // Common practice, no source.
  'If anything reacts: stop, rinse off, and send the client for medical advice at once.',
];
