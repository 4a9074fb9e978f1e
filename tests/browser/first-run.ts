import type { Page } from 'playwright'

/** What a newcomer does on an empty station, step by step, by what the window says alone. */

export async function startLab(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Try it on the lab in a box' }).click()
  await page.getByRole('heading', { name: 'Plan', level: 1 }).waitFor({ state: 'attached', timeout: 60_000 })
}

/** Accepts every warning of the preview, says who is there, and starts. */
export async function startNight(page: Page, who: string): Promise<void> {
  const start = page.getByRole('button', { name: 'Start the night' })
  await page.getByText('Ends about').first().waitFor({ timeout: 30_000 })
  for (const box of await page.getByText('I know, and take it on').all()) await box.click()
  await start.click()
  const dialog = page.getByRole('alertdialog', { name: 'Start the night' })
  await dialog.getByLabel('Who is at the bench').fill(who)
  await dialog.getByLabel('Name of the session').fill('First night')
  await dialog.getByRole('button', { name: 'Start', exact: true }).click()
  await page.getByRole('heading', { name: 'Watch', level: 1 }).waitFor({ state: 'attached', timeout: 60_000 })
}

export async function go(page: Page, place: string): Promise<void> {
  await page.getByRole('navigation', { name: 'Places' }).getByRole('button', { name: place }).click()
  await page.getByRole('heading', { name: place, level: 1 }).waitFor({ state: 'attached' })
}
