import { AxeBuilder } from '@axe-core/playwright'
import type { Page } from 'playwright'

/** What axe finds on a page, a line for each rule that is broken; `rules`: these alone. */
export async function violations(page: Page, rules?: readonly string[]): Promise<string[]> {
  // In the page itself: the other mode opens a second page for every look. Only violations are reported in full.
  const { violations: found } = await new AxeBuilder({ page })
    .setLegacyMode(true)
    .options({
      resultTypes: ['violations'],
      ...(rules && { runOnly: { type: 'rule' as const, values: [...rules] } }),
    })
    .exclude('iframe')
    .analyze()
  return found.map(
    (v) =>
      `${v.id}: ${v.nodes
        .map((n) => n.target.join(' '))
        .slice(0, 4)
        .join(' | ')}`,
  )
}
