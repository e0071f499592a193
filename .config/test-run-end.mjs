export default async function closeTestRun() {
  await globalThis.closeTestRun();
}
