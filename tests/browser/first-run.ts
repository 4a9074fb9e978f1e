import type { Locator, Page } from 'playwright'
import { screenshot } from './chromium.ts'

const NEWCOMER = 'A. Newcomer'
const PASSWORD = 'still water runs'

/** What a newcomer does on an empty station: what the first walk asks for, at the controls that it points at. */

export const noteOf = (page: Page): Locator => page.getByRole('complementary', { name: 'First walk' })

/** Waits for a step of the walk and keeps a picture of it. */
async function step(page: Page, title: string, patienceMs: number): Promise<void> {
  await noteOf(page).getByRole('heading', { name: title }).waitFor({ timeout: patienceMs })
  // The note stands beside its control as soon as the place is drawn.
  await page.waitForTimeout(400)
  await screenshot(page, `first-run-${title.toLowerCase().replaceAll(/\W+/g, '-')}`)
}

/** Goes where the note says, by its own button. */
const goThere = (page: Page, place: string): Promise<void> =>
  noteOf(page)
    .getByRole('button', { name: `Go to ${place}` })
    .click()

/** From an empty station to the preview of the night, as the walk leads. */
export async function walkToPlan(page: Page): Promise<void> {
  await step(page, 'Say who works here', 10_000)
  await page.getByRole('button', { name: 'Sign in', exact: true }).click()
  const first = page.getByRole('dialog', { name: 'Who works here' })
  await first.getByLabel('Name').fill(NEWCOMER)
  await first.getByLabel('Password').fill(PASSWORD)
  await first.getByRole('button', { name: 'Enter this person' }).click()
  await step(page, 'Start the lab in a box', 10_000)
  await page.getByRole('button', { name: 'Try it on the lab in a box' }).click()
  await step(page, 'Look at a certificate', 60_000)
  await goThere(page, 'Register')
  await page.getByRole('button', { name: 'Reference SPRT' }).click()
  await step(page, 'Choose a thermometer in the drawing', 60_000)
  await goThere(page, 'Bench')
  await page.locator('.node-thermometer').first().click()
  await step(page, 'Make the plan your own and save it', 10_000)
  await goThere(page, 'Plan')
  await page.getByText('Working', { exact: true }).click()
  await page.getByRole('button', { name: 'Save', exact: true }).click()
  await step(page, 'Read the night before it happens', 10_000)
  await page.getByText('Step by step', { exact: true }).click()
  await page.getByRole('region', { name: 'Steps of the night' }).waitFor()
}

/** Accepts every warning of the preview, says who is there, and starts. */
export async function walkToNight(page: Page): Promise<void> {
  await step(page, 'Start the night', 10_000)
  await page.getByText('Ends about').first().waitFor({ timeout: 30_000 })
  for (const box of await page.getByText('Accept this warning').all()) await box.click()
  await page.getByRole('button', { name: 'Start the night' }).click()
  const dialog = page.getByRole('alertdialog', { name: 'Start the night' })
  await dialog.getByLabel('Name of the session').fill('First night')
  await dialog.getByRole('button', { name: 'Start', exact: true }).click()
  await page.getByRole('heading', { name: 'Watch', level: 1 }).waitFor({ state: 'attached', timeout: 60_000 })
}

/** Through the running night to the report, as the walk leads. */
export async function walkToReport(page: Page, patienceMs: number): Promise<void> {
  await step(page, 'Pull a number', 60_000)
  await page.locator('.readout-number').first().click()
  await page.getByRole('complementary', { name: 'How this number came about' }).waitFor()
  // Folded up in the same moment: the walk has to have seen it all the same.
  await page.keyboard.press('Escape')
  await step(page, 'Look at the first point', patienceMs)
  await goThere(page, 'Points')
  await page.locator('tbody tr:not(.is-expected-row) .digits').first().waitFor({ timeout: patienceMs })
  await page.waitForFunction(() => document.body.textContent?.includes('5 points taken.'), undefined, {
    timeout: patienceMs,
  })
  await step(page, 'Look at a fit', 10_000)
  await page.getByRole('navigation', { name: 'Fits' }).getByRole('button').first().click()
  await page.getByRole('region', { name: 'Coefficients' }).waitFor()
  await step(page, 'Open the report', 10_000)
  await page.locator('.js-plotly-plot .points').first().waitFor({ state: 'attached', timeout: 30_000 })
  await page.getByRole('button', { name: 'Report', exact: true }).click()
  await step(page, 'Sign the results off', 30_000)
  await page.getByRole('button', { name: 'Sign off' }).click()
  const sign = page.getByRole('alertdialog', { name: 'Sign off the report' })
  for (const box of await sign.getByText('None', { exact: true }).all()) await box.click()
  await sign.getByLabel('Your password, once more').fill(PASSWORD)
  // The lab in a box measures no exchange, lift or insulation: whoever signs has to say that this was seen.
  const act = sign.getByRole('button', { name: 'Sign off' })
  await sign.getByText(/^R\(0\.01 °C\) of .* was not measured before and after/).waitFor()
  if (!(await act.isDisabled())) throw new Error('Signed without having said that the findings were seen.')
  await sign.getByText('Sign all the same: each of these was looked at').click()
  await act.click()
  await page.getByText(`Signed off by ${NEWCOMER}.`).first().waitFor({ timeout: 30_000 })
  await step(page, 'Save a certificate', 30_000)
  const download = page.waitForEvent('download')
  await page
    .getByRole('button', { name: /^PDF of / })
    .first()
    .click()
  if (!/\.pdf$/.test((await download).suggestedFilename())) throw new Error('The certificate is no PDF.')
  await step(page, 'That was a whole job, from the people to the certificate', 30_000)
  await noteOf(page).getByRole('button', { name: 'Put this away' }).click()
}

export async function go(page: Page, place: string): Promise<void> {
  const places = page.getByRole('navigation', { name: 'Places' })
  // One place's name may begin another's: Bench, Benches.
  await places.getByRole('button', { name: place, exact: true }).click()
  await page.getByRole('heading', { name: place, level: 1, exact: true }).waitFor({ state: 'attached' })
}
