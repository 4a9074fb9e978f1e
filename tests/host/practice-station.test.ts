import { afterEach, describe, expect, it } from 'vitest'
import { PracticeStation } from '../../main/host/practice-station.ts'

describe('PracticeStation', { timeout: 180_000 }, () => {
  const practice = new PracticeStation()
  afterEach(() => practice.close())

  it('opens a page of its own that asks for the first walk, once, and ends with the station that opened it', async () => {
    const [address, again] = await Promise.all([practice.open(), practice.open()])
    expect(again).toBe(address)
    expect(address).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/#token=.+&walk=1$/)
    const { origin } = new URL(address)
    expect((await fetch(origin)).status).toBe(200)
    practice.close()
    const gone = () =>
      fetch(origin).then(
        () => false,
        () => true,
      )
    await expect.poll(gone, { timeout: 60_000 }).toBe(true)
  })
})
