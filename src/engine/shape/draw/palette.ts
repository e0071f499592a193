/**
 * The colours of a drawing as paint values. Every one is a custom property with a light value to fall back on, so that a
 * page decides (see SHAPE_CSS) and a drawing needs no style of its own.
 */
export const PAINT = {
  skin: 'var(--shape-skin,#efe6dd)',
  line: 'var(--shape-line,#8d8177)',
  hair: 'var(--shape-hair,#8c8077)',
  far: 'var(--shape-far,#6a605a)',
  deep: 'var(--shape-deep,#2f2a28)',
  lock: 'var(--shape-lock,#f3ece5)',
  mark: 'var(--shape-mark,#a8452c)',
  ghost: 'var(--shape-ghost,#3d6b78)',
  ink: 'var(--shape-ink,#3a3430)',
} as const;

const LIGHT =
  '--shape-skin:#efe6dd;--shape-line:#8d8177;--shape-hair:#8c8077;--shape-far:#6a605a;--shape-deep:#2f2a28;' +
  '--shape-lock:#f3ece5;--shape-mark:#a8452c;--shape-ghost:#3d6b78;--shape-ink:#3a3430';
const DARK =
  '--shape-skin:#5a534d;--shape-line:#a89d93;--shape-hair:#a89b91;--shape-far:#7d736b;--shape-deep:#5b524c;' +
  '--shape-lock:#efe7df;--shape-mark:#ff9d7d;--shape-ghost:#8fd0e0;--shape-ink:#e8e0d8';

/** What a page that shows drawings puts into its style sheet. */
export const SHAPE_CSS = `:root{${LIGHT}}@media (prefers-color-scheme:dark){:root{${DARK}}}`;
