import { describe, expect, it } from 'vitest'
import {
  BUDGET_TEMPLATES,
  parseBudgetTemplate,
  templateFor,
} from '../../../app/results/uncertainty-template.ts'

describe('BUDGET_TEMPLATES', () => {
  it('say of every component where it comes from and why it is there', () => {
    for (const template of BUDGET_TEMPLATES) {
      for (const c of template.components) {
        expect(c.source.length, `${template.id} ${c.id}`).toBeGreaterThan(10)
        expect(c.explain.length, `${template.id} ${c.id}`).toBeGreaterThan(20)
      }
    }
  })

  it('cover every kind of thermometer', () => {
    for (const kind of ['sprt', 'prt', 'thermistor', 'thermocouple', 'other'] as const) {
      expect(templateFor(kind).components.length).toBeGreaterThan(10)
    }
  })

  it("give way to a laboratory's own", () => {
    const own = { ...templateFor('prt'), id: 'ours' }
    expect(templateFor('prt', [own]).id).toBe('ours')
  })
})

describe('parseBudgetTemplate', () => {
  const good = structuredClone(templateFor('prt'))

  it('names the first place that is not right', () => {
    const bad = structuredClone(good) as { components: { distribution: string }[] }
    bad.components[3]!.distribution = 'gaussian'
    expect(() => parseBudgetTemplate(bad)).toThrow(/components\.3\.distribution/)
  })

  it('refuses a fixed component without values, and two components of one name', () => {
    const { values: _v, ...bare } = good.components.find((c) => c.origin === 'fixed')!
    expect(() => parseBudgetTemplate({ ...good, components: [bare] })).toThrow(/lists its values/)
    const twice = [good.components[0], good.components[0]]
    expect(() => parseBudgetTemplate({ ...good, components: twice })).toThrow(/an id of its own/)
  })

  it('refuses keys it does not know, so that a slip of the pen does not go unseen', () => {
    expect(() => parseBudgetTemplate({ ...good, tittle: 'x' })).toThrow(/not right/)
  })

  describe('correlatedWith', () => {
    const linked = (id: string, component: string, more: object = {}) => ({
      ...good,
      components: good.components.map((c) =>
        c.id === id ? { ...c, correlatedWith: { component, r: 0.6 }, ...more } : c,
      ),
    })

    it('holds between two normal components of the same correlation', () => {
      expect(() =>
        parseBudgetTemplate(linked('self-heating-under-test', 'self-heating-reference')),
      ).not.toThrow()
    })

    it.each([
      ['one that stands behind it', linked('self-heating-reference', 'self-heating-under-test')],
      ['one that is not there', linked('self-heating-under-test', 'nobody')],
      ['a rectangular one', linked('immersion', 'bath-uniformity')],
      ['one of another correlation between points', linked('bath-stability', 'bath-uniformity')],
      ['one that is several errors', linked('bath-uniformity', 'reference-calibration')],
    ])('is refused with %s', (_, template) => {
      expect(() => parseBudgetTemplate(template)).toThrow(/correlated with one that stands before it/)
    })
  })
})
