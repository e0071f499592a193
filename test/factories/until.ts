/** Waits until it is so, and fails after so much real time: long, because a busy machine is not a fault. */
export async function until(isSo: () => boolean | Promise<boolean>, withinMs = 25_000): Promise<void> {
  const late = Date.now() + withinMs;
  while (!(await isSo())) {
    if (Date.now() > late) throw new Error(`It did not come about within ${withinMs / 1000} s.`);
    await new Promise((later) => setTimeout(later, 10));
  }
}
