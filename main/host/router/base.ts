import { implement, ORPCError } from '@orpc/server'
import { contract } from '../../../app/contract/index.ts'
import { InstrumentError } from '../../../app/instruments/faces.ts'
import { ChainError } from '../../../app/live/chain-error.ts'
import { ComparisonError } from '../../../app/results/uncertainty-error.ts'
import { StatisticsError } from '../../../app/statistics/errors.ts'
import { ThermometryError } from '../../../app/thermometry/errors.ts'
import { StationError } from '../../station/station-error.ts'
import { StoreError } from '../../store/errors.ts'
import type { Call } from '../gate/served-window.ts'
import type { Role } from '../page/tokens.ts'
import type { Services } from '../services.ts'
import { HEAVY, QUICK, STREAMS } from './weights.ts'

export interface WindowContext {
  role: Role
  services: Services
  call: Call
}

/** What an onlooker may ask. Closed by default: a new call is the operator's until it is named here. */
const FOR_ONLOOKERS = new Set([
  'station.watch',
  'station.state',
  'live.next',
  'history.overview',
  'history.readings',
  'history.statistics',
  'history.events',
  'bench.get',
  'bench.list',
  'bench.profiles',
  'plan.list',
  'plan.preview',
  'points.list',
  'points.fits',
  'points.report',
  'points.reportHtml',
  'points.reportPdf',
  'points.certificates',
  'points.certificatePdf',
  'points.certificateXml',
  'points.thread',
  'archive.sessions',
  'archive.open',
  'archive.verify',
  'archive.compare',
  'archive.replay',
  'orders.list',
  'orders.get',
  'orders.customers',
  'orders.fill',
  'orders.receipt',
  'orders.exportCsv',
  'register.list',
  'register.some',
  'register.ledgerEntry',
  'register.dueDates',
  'register.ledger',
  'register.hasCustodian',
  'checks.charted',
  'checks.history',
  'checks.measuredWtp',
  'checks.plateau',
  'alarms.list',
  'alarms.rules',
  'settings.get',
  'settings.forwarding',
])

const EXPECTED = [
  StationError,
  StoreError,
  InstrumentError,
  ChainError,
  ComparisonError,
  StatisticsError,
  ThermometryError,
]

/** An expected refusal with its sentence; the window shows it where the act was tried. */
export function refused(words: string): never {
  throw new ORPCError('REFUSED', { defined: true, message: words, data: { words } })
}

export function notFound(words: string): never {
  throw new ORPCError('NOT_FOUND', { defined: true, message: words, data: { words } })
}

export function forbidden(words: string): never {
  throw new ORPCError('FORBIDDEN', { defined: true, message: words, data: { words } })
}

function busy(words: string): never {
  throw new ORPCError('BUSY', { defined: true, message: words, data: { words } })
}

/** Takes the place that a stream or a piece of heavy work needs, for as long as the call lasts. */
async function takePlace(
  name: string,
  { services, call }: WindowContext,
  signal?: AbortSignal,
): Promise<void> {
  const { window } = call
  if (STREAMS.has(name)) {
    const { streamsEach } = services.gate.limits(window.group)
    if (window.streams >= streamsEach)
      busy(`This window already follows ${window.streams} things. Close one first.`)
    const end = services.gate.stream(window.group)
    if (!end) busy('Too many windows follow the station. Close one, or try again in a minute.')
    window.streams += 1
    call.hold(() => {
      window.streams -= 1
      end()
    })
  }
  if (name === 'archive.replay') {
    const end = services.gate.replay()
    if (!end) busy('Two replays run already. Try again when one of them has ended.')
    call.hold(end)
  }
  if (QUICK.has(name)) call.hold(await services.quick.enter(window, window.group, signal, busy))
  if (HEAVY.has(name)) call.hold(await services.heavy.enter(window, window.group, signal, busy))
}

/** Every call passes here: onlookers only look, and what the station refuses becomes a refusal in words. */
export const os = implement(contract)
  .$context<WindowContext>()
  .use(async ({ context, path, next, signal }) => {
    const name = path.join('.')
    if (context.role === 'watcher' && !FOR_ONLOOKERS.has(name)) {
      forbidden('This window may only look. Open the operator address to change something.')
    }
    await takePlace(name, context, signal)
    try {
      return await next()
    } catch (fault) {
      if (EXPECTED.some((kind) => fault instanceof kind)) {
        const { message, code } = fault as StoreError
        if (code === 'not-found') notFound(message)
        refused(message)
      }
      if (!(fault instanceof ORPCError))
        context.services.log.error({ fault, path }, 'a call of the window failed')
      throw fault
    }
  })

/** Bytes as the contract carries them. */
export function blob(bytes: Uint8Array<ArrayBuffer> | string, type = 'application/octet-stream'): Blob {
  return new Blob([bytes], { type })
}
