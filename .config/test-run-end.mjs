import { undo } from './test-run.mjs';

export default async function closeTestRun() {
  for (let step = undo.pop(); step; step = undo.pop()) await step();
}
