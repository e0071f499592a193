/** Says plainly why records cannot be moved, and what to do about it. */
export class MoveError extends Error {
  override readonly name = 'MoveError';
}
