import { describe, expect, it } from 'vitest'
import { answerCheck } from '../../../app/checks/answer-check.ts'
import { CheckRequest } from '../../../app/contract/check-request.ts'
import { setOfResistors } from '../../../renderer/register/checks/resistor-set.model.ts'
import { wholeBridge } from '../../../renderer/register/checks/whole-bridge.model.ts'

const TABLES = {
  interchange: [
    { name: '25 over 100', ratio: '0.250012345', u: '3e-9', reciprocal: '3.999802494', uReciprocal: '3e-9' },
  ],
  networks: [],
  ratios: [
    { name: 'A over B', ratio: '0.500010020', u: '3e-9', known: '0.500010000', uKnown: '1e-8' },
    { name: 'B over B', ratio: '1.000000030', u: '3e-9', known: '1', uKnown: '1e-9' },
  ],
}

describe('all checks of a bridge together', () => {
  it('are those of the tables, with the digits of the command line', () => {
    const whole = wholeBridge(TABLES, { instrument: 'bridge-1', date: '2026-03-01' })
    if (!whole || typeof whole === 'string') throw new Error(String(whole))
    expect(whole.of).toEqual(['interchange', 'known ratios'])
    expect(whole.request).toMatchObject({ check: 'bridge', instrument: 'bridge-1', asCorrection: false })
    const asked = CheckRequest.parse(JSON.parse(JSON.stringify(whole.request)))
    expect(answerCheck(asked)).toEqual(whole.curve)
    expect(whole.curve.checked.length).toBeGreaterThan(2)
    // With known ratios beside it, interchange leaves nothing that cannot be told.
    expect(whole.curve.takenOut).toEqual([])
  })

  it('wait for a second table', () => {
    expect(wholeBridge({ ...TABLES, ratios: [] }, {})).toBeUndefined()
    expect(wholeBridge({ ...TABLES, ratios: [{ name: 'half', ratio: '0.5' }] }, {})).toBeUndefined()
  })
})

describe('several resistors at once', () => {
  const ratios = [
    { over: 'A', under: 'B', ratio: '1.0000100', u: '2e-9' },
    { over: 'B', under: 'C', ratio: '0.9999950', u: '2e-9' },
    { over: 'A', under: 'C', ratio: '1.0000050', u: '2e-9' },
  ]
  const known = [{ resistor: 'C', ohm: '100.00012', uRelative: '5e-8' }]

  it('have the digits of the command line', () => {
    const { result, missing } = setOfResistors(ratios, known)
    expect(missing).toBeUndefined()
    const request = CheckRequest.parse({
      check: 'resistors',
      ratios: ratios.map((r) => ({ ...r, u: 2e-9 })),
      known: [{ resistor: 'C', ohm: 100.00012, uRelative: 5e-8 }],
    })
    expect(result).toEqual(answerCheck(request))
    expect(result!.resistors.map(({ name }) => name)).toEqual(['C', 'A', 'B'])
  })

  it('say what they lack: a known value, a name, a number, a resistor over itself', () => {
    expect(setOfResistors([], []).missing).toMatch(/Give the ratios of pairs/)
    expect(setOfResistors(ratios, []).missing).toMatch(/No ratio leads from a known resistor to /)
    expect(setOfResistors([{ ...ratios[0]!, u: 'x' }], known).ratioProblems).toEqual({
      '0 u': 'A number above 0',
    })
    expect(setOfResistors([{ ...ratios[0]!, under: '' }], known).ratioProblems).toEqual({
      '0 under': 'A name',
    })
    expect(setOfResistors([{ ...ratios[0]!, under: 'A' }], known).missing).toMatch(
      /cannot be compared with itself/,
    )
  })
})
