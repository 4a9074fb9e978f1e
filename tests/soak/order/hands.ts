import type { Locator, Page } from 'playwright'

/** A person at the window: presses what a label names, types into what a label names, and counts. */
export interface Hand {
  readonly page: Page
  clicks: number
  fields: number
  press(what: Locator, patienceMs?: number): Promise<void>
  fill(what: Locator, text: string): Promise<void>
  /** One of a list that opens. */
  choose(button: Locator, option: string): Promise<void>
  /** One of a row of which all are in sight. */
  oneOf(row: Locator, option: string): Promise<void>
  place(name: string): Promise<void>
}

const PATIENCE_MS = 20_000

/** With the mouse. */
export class MouseHand implements Hand {
  clicks = 0
  fields = 0
  readonly page: Page

  constructor(page: Page) {
    this.page = page
  }

  async press(what: Locator, patienceMs = PATIENCE_MS): Promise<void> {
    await what.first().waitFor({ timeout: patienceMs })
    // A box is pressed where a person presses it: on its label.
    const box = await what.first().evaluate((element) => element instanceof HTMLInputElement)
    const at = box ? what.first().locator('xpath=ancestor::label') : what.first()
    await at.click({ timeout: patienceMs })
    this.clicks += 1
  }

  async fill(what: Locator, text: string): Promise<void> {
    await what.first().fill(text, { timeout: PATIENCE_MS })
    this.fields += 1
  }

  async choose(button: Locator, option: string): Promise<void> {
    await this.press(button)
    await this.press(this.page.getByRole('option', { name: option, exact: true }))
  }

  oneOf(row: Locator, option: string): Promise<void> {
    return this.press(row.getByRole('radio', { name: option, exact: true }))
  }

  place(name: string): Promise<void> {
    return this.press(
      this.page.getByRole('navigation', { name: 'Places' }).getByRole('button', { name, exact: true }),
    )
  }
}

/** A window has fewer things to stop at than this. */
const MOST_STOPS = 400

/** With the keyboard alone: Tab until the wanted thing has the focus, then the key that a person would press. */
export class KeyHand implements Hand {
  clicks = 0
  fields = 0
  stops = 0
  readonly page: Page

  constructor(page: Page) {
    this.page = page
  }

  private async key(name: string): Promise<void> {
    await this.page.keyboard.press(name)
  }

  private has(what: Locator): Promise<boolean> {
    return what.first().evaluate((element) => {
      const focus = document.activeElement
      return focus !== null && focus !== document.body && (element === focus || element.contains(focus))
    })
  }

  /** Walks to a thing; a thing that Tab never comes to is a dead end. */
  private async walkTo(what: Locator, patienceMs = PATIENCE_MS): Promise<void> {
    await what.first().waitFor({ timeout: patienceMs })
    for (let stop = 0; stop < MOST_STOPS; stop++) {
      if (await this.has(what)) return
      await this.key('Tab')
      this.stops += 1
    }
    throw new Error(`Tab never came to ${what}.`)
  }

  async press(what: Locator, patienceMs = PATIENCE_MS): Promise<void> {
    await what.first().waitFor({ timeout: patienceMs })
    const group = await what
      .first()
      .evaluate((element) =>
        element instanceof HTMLInputElement && element.type === 'radio' ? element.name : null,
      )
    if (group !== null)
      return this.pick(what, this.page.locator(`input[type=radio][name="${group}"]:checked`))
    await this.walkTo(what, patienceMs)
    const box = await what.first().evaluate((element) => {
      const focus = document.activeElement
      return element.tagName === 'LABEL' || focus instanceof HTMLInputElement
    })
    await this.key(box ? 'Space' : 'Enter')
    this.clicks += 1
  }

  /** One of a group of radio buttons: Tab comes to the chosen one, arrows go on from there. */
  private async pick(what: Locator, chosen: Locator): Promise<void> {
    await this.walkTo(chosen)
    for (let step = 0; step < MOST_STOPS && !(await this.has(what)); step++) await this.key('ArrowDown')
    if (!(await this.has(what))) throw new Error(`The arrow keys never came to ${what}.`)
    this.clicks += 1
  }

  async fill(what: Locator, text: string): Promise<void> {
    await this.walkTo(what)
    await this.key('Control+a')
    await this.page.keyboard.insertText(text)
    this.fields += 1
  }

  async choose(button: Locator, option: string): Promise<void> {
    await this.press(button)
    const wanted = this.page.getByRole('option', { name: option, exact: true })
    await wanted.waitFor({ timeout: PATIENCE_MS })
    for (let step = 0; step < MOST_STOPS && !(await this.has(wanted)); step++) await this.key('ArrowDown')
    await this.key('Enter')
    this.clicks += 1
  }

  async oneOf(row: Locator, option: string): Promise<void> {
    const wanted = row.getByRole('radio', { name: option, exact: true })
    await this.walkTo(row)
    for (let step = 0; step < MOST_STOPS && !(await this.has(wanted)); step++) await this.key('ArrowRight')
    if (!(await this.has(wanted))) throw new Error(`The arrow keys never came to ${wanted}.`)
    await this.key('Space')
    this.clicks += 1
  }

  /** By the number that stands before the place's name. */
  async place(name: string): Promise<void> {
    const button = this.page
      .getByRole('navigation', { name: 'Places' })
      .getByRole('button', { name, exact: true })
    const key = /\d/.exec((await button.first().textContent()) ?? '')?.[0]
    if (key === undefined) throw new Error(`No key is said for ${name}.`)
    // A letter typed in a field stays there; Escape leaves the field.
    if (await this.page.evaluate(() => /^(INPUT|TEXTAREA)$/.test(document.activeElement?.tagName ?? '')))
      await this.key('Escape')
    await this.key(key)
    this.clicks += 1
  }
}
