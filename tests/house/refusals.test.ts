import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { CodedError, saidBy } from '../../app/base/coded-error.ts'
import { InstrumentError } from '../../app/instruments/faces.ts'
import { EVENT_MESSAGES } from '../../app/messages/event-messages.ts'
import { asTold, MESSAGES, said, sentenceOf } from '../../app/messages/said.ts'
import { StoreError } from '../../main/store/errors.ts'

const ROOT = join(import.meta.dirname, '..', '..')
const SOURCES = ['app', 'drivers', 'simulator', 'main']
  .flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, encoding: 'utf8' }).map((name) => `${folder}/${name}`),
  )
  .filter((name) => name.endsWith('.ts') && !name.startsWith('app/messages/'))
  .map((name) => ({ name: name.replaceAll('\\', '/'), text: readFileSync(join(ROOT, name), 'utf8') }))
const text = SOURCES.map((file) => file.text).join('\n')

/** Where a refusal passes on what an instrument, the system, a reader of forms or a judge of a record has said. */
const PASSED_ON = [
  'app/base/coded-error.ts',
  'app/dcc/calibration.ts',
  'app/results/session-entries.ts',
  'app/thermometry/convert-request.ts',
  'drivers/link/link.ts',
  'drivers/link/usbtmc.ts',
  'drivers/profile/bath.ts',
  'drivers/profile/instrument.ts',
  'drivers/profile/line.ts',
  'drivers/profile/meter.ts',
  'drivers/profile/scanner.ts',
  'drivers/try.ts',
  'main/host/lab-night.ts',
  'main/host/laboratory/laboratory-desk.ts',
  'main/host/router/register.ts',
  'main/station/due-watch.ts',
  'main/station/runner.ts',
  'main/station/station.ts',
  'main/station/unseen-alarms.ts',
  'main/store/station-store.ts',
  'main/study/checks.ts',
  'simulator/faults/script.ts',
]

describe('refusals', () => {
  it('carry the message of their sentence, from which another language makes its own', () => {
    const fault = new StoreError('not-found', said('no-such-person', { id: 'p7' }), { id: 'p7' })
    expect(fault).toBeInstanceOf(CodedError)
    expect(fault.message).toBe('There is no person "p7".')
    expect(fault.said).toEqual({ code: 'no-such-person', args: { id: 'p7' } })
    expect(sentenceOf(fault.said, { 'no-such-person': 'Eine Person „{id}“ gibt es nicht.' }, 'de')).toBe(
      'Eine Person „p7“ gibt es nicht.',
    )
  })

  it('keep within them what another refusal said, with its own code', () => {
    const inner = new InstrumentError('silent', 'bath', said('nobody-answers', { hint: '' }))
    const outer = said('link-trying-again', { fault: saidBy(inner) })
    expect(outer.args.fault).toEqual({ code: 'nobody-answers', args: { hint: '' } })
    expect(outer.words).toBe(`${inner.message} Trying again.`)
  })

  it('have a message that is used somewhere, each of the table', () => {
    const events = new Set(Object.keys(EVENT_MESSAGES))
    const unused = Object.keys(MESSAGES).filter((code) => !events.has(code) && !text.includes(`'${code}'`))
    expect(unused).toEqual([])
  })

  it('are no sentence of somebody else but where that is what they are', () => {
    expect(asTold('x: no such device').args).toEqual({ words: 'x: no such device' })
    const passed = SOURCES.filter((file) => /\basTold\(/.test(file.text)).map(({ name }) => name)
    expect(passed.toSorted()).toEqual(PASSED_ON)
  })
})
