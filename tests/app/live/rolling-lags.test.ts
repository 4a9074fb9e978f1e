import { expect, it } from 'vitest'
import { RollingLags } from '../../../app/live/rolling-lags.ts'
import { lagAfter } from '../../../app/statistics/autocorrelation.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

it('keeps the products of the residuals at every lag as a window moves, grows, shrinks and is made room for', () => {
  const random = seededRandom(5)
  const lags = new RollingLags()
  const window: { t: number; x: number }[] = []
  const sum = (of: (one: { t: number; x: number }) => number) => window.reduce((s, one) => s + of(one), 0)
  let seen = 0
  for (let step = 0; step < 3000; step++) {
    const one = { t: step / 10, x: 0.3 * random.normal() + 0.001 * step }
    lags.push(one.t, one.x)
    window.push(one)
    // A window of about 200, now and then cut to a few, so that room is made with and without sums to keep.
    const most = step % 700 === 699 ? 20 : 150 + 50 * Math.sin(step / 200)
    while (window.length > most) {
      lags.shift()
      window.shift()
    }
    if (window.length < 12 || random.uniform() < 0.4) continue
    const [x, t] = [sum((one) => one.x), sum((one) => one.t)]
    const [xm, tm] = [x / window.length, t / window.length]
    const b = sum((one) => (one.x - xm) * (one.t - tm)) / sum((one) => (one.t - tm) ** 2)
    const a = xm - b * tm
    const e = window.map((one) => one.x - a - b * one.t)
    lags.ask(x, t, a, b)
    const asked = 1 + Math.floor(9 * random.uniform())
    for (let place = 0, lag = 1; place < asked; place++, lag = lagAfter(lag)) {
      const whole = e.slice(lag).reduce((s, second, i) => s + second * e[i]!, 0)
      expect(Math.abs(lags.next() - whole)).toBeLessThan(1e-6)
      seen += 1
    }
  }
  expect(seen).toBeGreaterThan(5000)
})
