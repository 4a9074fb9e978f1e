import type { BathSpec, Bench, BenchInstrument, Channel } from '../../app/records/bench.ts'
import type { Change } from '../text/undo.ts'
import type { BenchAct } from './bench.model.ts'

/** What an edit of the bench is, in words that fit behind 'Taken back: '. */

const CHANNEL_WORDS: Record<keyof Channel, string> = {
  id: 'the key',
  name: 'the name',
  role: 'the role',
  instrument: 'the bridge or meter',
  input: 'the input',
  route: 'the connection',
  thermometer: 'the thermometer',
  reference: 'the denominator of the ratio',
  junction: 'the reference junction',
  currentMa: 'the measuring current',
  keepWarmMa: 'the keep-warm current',
  settleMs: 'the wait after switching',
  discard: 'the readings left out after switching',
  readings: 'the readings per visit',
  average: 'what the instrument averages',
  range: 'the measuring range',
  immersionMm: 'the immersion',
  unit: 'the unit it is shown in',
  enabled: 'whether it is measured',
}
const INSTRUMENT_WORDS: Record<keyof BenchInstrument, string> = {
  id: 'the key',
  name: 'the name',
  profile: 'the profile',
  link: 'the link',
  serial: 'the serial number',
  register: 'the record in the register',
}
const BATH_WORDS: Record<keyof BathSpec, string> = {
  instrument: 'who sets the bath',
  name: 'the name of the bath',
  fluid: 'the fluid of the bath',
  lowC: 'the lower limit of the bath',
  highC: 'the upper limit of the bath',
  safeC: 'the safe setpoint',
  uniformityMk: 'the uniformity of the bath',
  stabilityMk: 'the stability of the bath',
  register: 'the entry of the bath',
  surveys: 'the surveys of the bath',
}
/** Fields that are typed key by key; what is chosen from a list is one change each time. */
const TYPED: ReadonlySet<string> = new Set([
  'name',
  'serial',
  'link',
  'input',
  'route',
  'junction',
  'currentMa',
  'keepWarmMa',
  'settleMs',
  'discard',
  'readings',
  'average',
  'immersionMm',
  'lowC',
  'highC',
  'safeC',
  'uniformityMk',
  'stabilityMk',
])

const first = (part: object): string => Object.keys(part)[0] ?? ''

export function benchChange(bench: Bench, act: BenchAct): Change {
  const channelOf = (id: string) => bench.channels.find((c) => c.id === id)?.name ?? id
  const instrumentOf = (id: string) => bench.instruments.find((i) => i.id === id)?.name ?? id
  const field = (where: string, what: string, of: string, name: string): Change => ({
    words: `${what} of ${name}`,
    typing: TYPED.has(of) ? `${where} ${of}` : undefined,
  })
  switch (act.do) {
    case 'load':
      return { words: 'the bench that was opened' }
    case 'name':
      return { words: 'the name of the bench', typing: 'name' }
    case 'scan':
      return { words: 'how often a scan begins', typing: 'scan' }
    case 'instrument': {
      const of = first(act.part)
      return field(act.id, INSTRUMENT_WORDS[of as keyof BenchInstrument], of, instrumentOf(act.id))
    }
    case 'unset-instrument':
      return field(act.id, INSTRUMENT_WORDS[act.field], act.field, instrumentOf(act.id))
    case 'add-instrument':
      return { words: `the instrument ${act.instrument.name} on the bench` }
    case 'remove-instrument':
      return { words: `${instrumentOf(act.id)} taken off the bench with its channels` }
    case 'channel': {
      const of = first(act.part)
      return field(act.id, CHANNEL_WORDS[of as keyof Channel], of, channelOf(act.id))
    }
    case 'unset-channel':
      return field(act.id, CHANNEL_WORDS[act.field], act.field, channelOf(act.id))
    case 'add-channel':
      return { words: `the channel ${act.channel.name}` }
    case 'remove-channel':
      return { words: `the channel ${channelOf(act.id)} removed` }
    case 'bath': {
      const { bath: before } = bench
      if (!before || !act.bath) return { words: 'the bath' }
      const of = (Object.keys(BATH_WORDS) as (keyof BathSpec)[]).find((k) => before[k] !== act.bath?.[k])
      return of
        ? { words: BATH_WORDS[of], typing: TYPED.has(of) ? `bath ${of}` : undefined }
        : { words: 'the bath' }
    }
  }
}
