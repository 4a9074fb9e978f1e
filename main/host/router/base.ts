import { implement, ORPCError } from '@orpc/server'
import { contract } from '../../../app/contract/index.ts'
import { InstrumentError } from '../../../app/instruments/faces.ts'
import { ChainError } from '../../../app/live/chain-error.ts'
import { ComparisonError } from '../../../app/results/uncertainty-error.ts'
import { StatisticsError } from '../../../app/statistics/errors.ts'
import { ThermometryError } from '../../../app/thermometry/errors.ts'
import { StationError } from '../../station/station-error.ts'
import { StoreError } from '../../store/errors.ts'
import type { Role } from '../page/tokens.ts'
import type { Services } from '../services.ts'

export interface WindowContext {
  role: Role
  services: Services
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
  'points.reportXml',
  'points.thread',
  'archive.sessions',
  'archive.open',
  'archive.verify',
  'archive.compare',
  'archive.replay',
  'register.get',
  'register.dueDates',
  'register.ledger',
  'register.hasCustodian',
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

/** Every call passes here: onlookers only look, and what the station refuses becomes a refusal in words. */
export const os = implement(contract)
  .$context<WindowContext>()
  .use(async ({ context, path, next }) => {
    if (context.role === 'watcher' && !FOR_ONLOOKERS.has(path.join('.'))) {
      forbidden('This window may only look. Open the operator address to change something.')
    }
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
