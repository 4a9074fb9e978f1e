import { said } from '../../app/messages/said.ts'
import type { LabInstrument } from '../instruments/instrument.ts'
import type { Bath } from '../physics/bath.ts'
import type { Switch } from '../physics/circuit.ts'
import type { Room } from '../physics/room.ts'
import {
  BUS_FAULTS,
  FaultError,
  type FaultKind,
  type FaultOrder,
  type FaultRecord,
  PACKET_FAULTS,
  REPLY_FAULTS,
} from './order.ts'

/** How long a port stays away or the power stays off when an order does not say, s. */
const AWAY_S = 5

const BATH_FAULTS: readonly FaultKind[] = ['runaway-heater', 'no-cooling', 'sensor-fault']

export interface OrderedFault {
  readonly record: FaultRecord
  /** Ends it before its time. */
  end(): void
}

export interface FaultTarget {
  instrument: LabInstrument
  /** The bath it controls, where it is a bath controller. */
  bath: Bath | undefined
  room: Room
  /** Its contacts, where it has any. */
  contacts: Switch | undefined
}

/** Refuses, before its time, an order that this instrument could never carry out. */
export function checkPossible({ kind }: FaultOrder, { instrument, bath, contacts }: FaultTarget): void {
  if (kind === 'relay-stuck' && !contacts) {
    throw new FaultError('not-possible', said('fault-needs-contacts', { instrument: instrument.id, kind }))
  }
  if (kind === 'error-in-queue' && !instrument.hasErrorQueue) {
    throw new FaultError('not-possible', said('fault-needs-queue', { instrument: instrument.id }))
  }
  const ofBus = PACKET_FAULTS.includes(kind) || BUS_FAULTS.includes(kind)
  if (ofBus && !instrument.port.bus?.faults.includes(kind)) {
    throw new FaultError('not-possible', said('fault-not-on-bus', { instrument: instrument.id, kind }))
  }
  if (!instrument.hasText && REPLY_FAULTS.includes(kind) && kind !== 'silence' && kind !== 'late') {
    throw new FaultError('not-possible', said('fault-in-registers', { instrument: instrument.id }))
  }
  if (BATH_FAULTS.includes(kind) && !bath) {
    throw new FaultError('not-possible', said('fault-needs-bath', { instrument: instrument.id, kind }))
  }
}

/** Starts a possible fault on an instrument now. */
export function applyFault(order: FaultOrder, target: FaultTarget): OrderedFault {
  const { instrument, bath, room, contacts } = target
  const { desk } = instrument
  const begin = (lasting: FaultOrder, onEnd?: () => void): OrderedFault => {
    const fault = desk.begin(lasting, onEnd)
    return { record: fault.record, end: () => desk.end(fault) }
  }
  const withEnd = { ...order, forS: order.forS ?? AWAY_S }
  switch (order.kind) {
    case 'error-in-queue': {
      instrument.fail(order.number, order.text)
      const done = begin(order)
      done.end()
      return done
    }
    case 'connection-drop': {
      instrument.port.drop()
      const done = begin(order)
      done.end()
      return done
    }
    case 'link-drop': {
      instrument.port.bus?.dropLink()
      const done = begin(order)
      done.end()
      return done
    }
    case 'stall': {
      instrument.port.bus?.stall?.()
      const done = begin(order)
      done.end()
      return done
    }
    case 'service-requests': {
      for (let i = 0; i < order.count; i++) instrument.port.bus?.requestService(64)
      const done = begin(order)
      done.end()
      return done
    }
    case 'locked-by-other':
      instrument.port.bus?.lockByOther()
      return begin(withEnd, () => instrument.port.bus?.unlockByOther())
    case 'port-vanish':
      void instrument.port.close()
      return begin(withEnd, () => void instrument.port.reopen())
    case 'power-cut': {
      instrument.powerOff()
      const away = order.link === 'lost'
      if (away) void instrument.port.close()
      return begin(withEnd, () => {
        if (away) void instrument.port.reopen()
        instrument.powerOn()
      })
    }
    case 'relay-stuck':
      if (contacts) contacts.stuck = true
      return begin(order, () => {
        if (contacts) contacts.stuck = false
      })
    case 'runaway-heater':
    case 'no-cooling':
    case 'sensor-fault': {
      const { kind } = order
      room.advance()
      bath?.faults.add(kind)
      return begin(order, () => {
        room.advance()
        bath?.faults.delete(kind)
      })
    }
    default:
      return begin(order)
  }
}
