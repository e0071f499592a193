import axe from 'axe-core';
import type { Page } from 'playwright-core';

/** What axe-core finds (its rules follow WCAG 2.2 and good practice), one line a finding. */
export async function findings(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate<axe.AxeResults>('axe.run()');
  return violations.map(
    ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`,
  );
}
