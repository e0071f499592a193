import axe from 'axe-core';
import type { Page } from 'playwright-core';

/** What axe-core finds (its rules follow WCAG 2.2 and good practice) by all rules or by those named, one line a finding. */
export async function findings(page: Page, ...rules: string[]): Promise<string[]> {
  // Half a megabyte, so once a page.
  if (await page.evaluate(`window.axe === undefined`)) await page.evaluate(axe.source);
  const options = rules.length > 0 ? { runOnly: rules } : {};
  const { violations } = await page.evaluate<axe.AxeResults>(`axe.run(${JSON.stringify(options)})`);
  return violations.map(
    ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`,
  );
}
