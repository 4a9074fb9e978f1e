import { describe, expect, it } from 'vitest'
import { z } from 'zod'
import { contract } from '../../app/contract/index.ts'

interface Call {
  readonly name: string
  readonly input: z.ZodType | undefined
  readonly output: z.ZodType | undefined
}

/** Every call of the contract with what it is asked and what it answers. */
function calls(node: unknown, path: readonly string[] = []): Call[] {
  if (typeof node !== 'object' || node === null) return []
  const inside = (node as Record<string, unknown>)['~orpc'] as
    | { inputSchema?: z.ZodType; outputSchema?: z.ZodType }
    | undefined
  if (inside) return [{ name: path.join('.'), input: inside.inputSchema, output: inside.outputSchema }]
  return Object.entries(node).flatMap(([key, value]) => calls(value, [...path, key]))
}

const fieldsOf = (schema: z.ZodType | undefined): readonly string[] =>
  schema instanceof z.ZodObject ? Object.keys(schema.shape) : []

/** Answers that tell of a limit in another way than by a total. */
const OTHERWISE: Readonly<Record<string, string>> = {
  'live.next': 'a stream: the next question goes on after `last`',
  'history.readings': 'a stretch of one channel: asked on from its last reading',
}

describe('a call with a limit', () => {
  const all = calls(contract)
  const limited = all.filter(({ input }) => fieldsOf(input).includes('most'))

  it('says how many there are in all, and can be asked to go on where it ended', () => {
    expect(all.length).toBeGreaterThan(60)
    expect(limited.length).toBeGreaterThanOrEqual(8)
    for (const { name, input, output } of limited) {
      if (name in OTHERWISE) continue
      expect(fieldsOf(output), `${name} says how many there are`).toContain('total')
      expect(fieldsOf(input), `${name} goes on`).toContain('from')
    }
    for (const name of Object.keys(OTHERWISE))
      expect(
        limited.map((call) => call.name),
        'still a call',
      ).toContain(name)
  })

  it('is what every list of records, sessions, alarms and events is', () => {
    const names = limited.map(({ name }) => name)
    for (const name of [
      'register.list',
      'register.dueDates',
      'register.ledger',
      'archive.sessions',
      'alarms.list',
      'history.events',
      'checks.charted',
    ])
      expect(names).toContain(name)
  })
})

type Field = readonly [name: string, schema: z.core.JSONSchema.JSONSchema]

const PARTS = ['items', 'prefixItems', 'anyOf', 'oneOf', 'allOf', 'additionalProperties']

/** Every field of a schema with its own name, however deep it lies. */
function fieldsWithin(node: unknown, name: string): Field[] {
  if (Array.isArray(node)) return node.flatMap((part) => fieldsWithin(part, name))
  if (typeof node !== 'object' || node === null) return []
  const own: Field[] = 'type' in node ? [[name, node as z.core.JSONSchema.JSONSchema]] : []
  const within = Object.entries(node).flatMap(([key, value]) => {
    if (key === 'properties' || key === '$defs')
      return Object.entries(value as object).flatMap(([k, v]) => fieldsWithin(v, k))
    return PARTS.includes(key) ? fieldsWithin(value, name) : []
  })
  return [...own, ...within]
}

describe('what a field of the contract takes', () => {
  const fields = calls(contract)
    .flatMap(({ input, output }) => [input, output])
    .filter((schema) => schema instanceof z.ZodType)
    .flatMap((schema) => fieldsWithin(z.toJSONSchema(schema, { unrepresentable: 'any', io: 'input' }), ''))

  it('is any text of a letter or of a line, where it is a text at all', () => {
    const texts = fields.filter(
      ([, f]) => f.type === 'string' && !f.pattern && !f.format && !f.enum && f.const === undefined,
    )
    expect(texts.length).toBeGreaterThan(500)
    // ISO 3166-1 has two letters to a country; SHA-256 has 64 hexadecimal digits.
    const exact: Readonly<Record<string, number>> = { country: 2, hash: 64 }
    for (const [name, { minLength = 0, maxLength = Number.POSITIVE_INFINITY }] of texts)
      if (name in exact && minLength > 0)
        expect([name, minLength, maxLength]).toEqual([name, exact[name], exact[name]])
      else {
        expect(minLength, name).toBeLessThanOrEqual(1)
        expect(maxLength, name).toBeGreaterThanOrEqual(40)
      }
  })

  it('is a list of one or more, but for what one alone does not make', () => {
    const lists = fields.filter(([, f]) => f.type === 'array' && !f.prefixItems)
    expect(lists.length).toBeGreaterThan(300)
    const least: Readonly<Record<string, number>> = {
      // A relation has two points or coefficients at least, a network two resistors.
      ...{ coefficients: 2, x: 2, y: 2, curve: 2, plateaus: 2, series: 2, parallel: 2 },
      // A survey compares places; a sequence of cells begins and ends at water.
      ...{ positions: 2, steps: 3 },
    }
    for (const [name, { minItems = 0, maxItems = Number.POSITIVE_INFINITY }] of lists) {
      expect(minItems, name).toBeLessThanOrEqual(least[name] ?? 1)
      // A certificate has two languages at most.
      expect(maxItems, name).toBeGreaterThanOrEqual(name === 'languages' ? 2 : 5)
    }
    for (const [name, n] of Object.entries(least))
      expect(
        lists.some(([own, { minItems }]) => own === name && minItems === n),
        name,
      ).toBe(true)
  })

  it('is a switch that is off until somebody sets it, but for three', () => {
    const on = fields.filter(([, f]) => f.type === 'boolean' && f.default === true).map(([name]) => name)
    expect([...new Set(on)].sort()).toEqual(['enabled', 'measurerMaySign', 'sound'])
    const off = fields.filter(([, f]) => f.type === 'boolean' && f.default === false).map(([name]) => name)
    for (const name of ['reverse', 'closed', 'restore', 'withoutTls', 'selfHeating', 'wtpCheck', 'stay'])
      expect(off).toContain(name)
  })

  /** Lower limit, upper limit and what stands where nothing is said, of every number of one name. */
  const numbersOf = (name: string) =>
    [
      ...new Set(
        fields
          .filter(([own, f]) => own === name && (f.type === 'number' || f.type === 'integer'))
          .map(([, f]) => {
            const sized = (n: number | undefined) =>
              Math.abs(n ?? 0) === Number.MAX_SAFE_INTEGER ? '' : (n ?? '')
            const low = f.exclusiveMinimum === undefined ? sized(f.minimum) : `>${f.exclusiveMinimum}`
            const high = f.exclusiveMaximum === undefined ? sized(f.maximum) : `<${f.exclusiveMaximum}`
            return `${low}..${high}${f.default === undefined ? '' : ` ${f.default}`}`
          })
          // An answer tells a number as it is.
          .filter((range) => range !== '..'),
      ),
    ].sort()

  it.each([
    // Ports of RFC 9293 have 16 bits, and so have the numbers of a USB device; serial units of Modbus go from 1 to 247.
    ['port', ['1..65535']],
    ['portmapper', ['1..65535']],
    ['vendor', ['0..65535']],
    ['product', ['0..65535']],
    ['unit', ['0..255', '1..247']],
    // Clocks of the world stand up to fourteen hours from UTC.
    ['offsetMin', ['-840..840']],
    // JCGM 100:2008, 6.2: 95.45 % is k = 2 of the normal distribution.
    ['coverage', ['>0..<1 0.9545']],
    ['coverageProbability', ['>0.5..<1 0.9545']],
    ['confidence', ['>0.5..<1 0.95']],
    ['adaptive', ['1.. 1']],
    ['k', ['>0.. 2']],
    ['currentMa', ['>0.. 1']],
    ['from', ['0.. 0']],
    ['holdS', ['0..']],
    ['discard', ['0.. 0']],
    ['settleMs', ['0.. 0']],
    ['depthM', ['0..']],
    ['maxWaitS', ['>0.. 14400']],
    ['cycles', ['>0.. 3']],
  ])('is a number %s within %j', (name, ranges) => {
    expect(numbersOf(name)).toEqual(expect.arrayContaining(ranges))
    if (!['k', 'currentMa'].includes(name)) expect(numbersOf(name)).toEqual(ranges)
  })

  it('is an uncertainty of nothing or more', () => {
    const uncertainties = [...new Set(fields.map(([name]) => name))].filter((name) =>
      /^u[A-Z0-9]|^expanded/.test(name),
    )
    const stated = uncertainties.flatMap((name) => numbersOf(name))
    expect(stated.length).toBeGreaterThan(15)
    for (const range of stated) expect(range).toMatch(/^(>?0)\.\./)
  })
})
