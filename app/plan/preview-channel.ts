import { kindOf } from '../kinds/table.ts'
import { buildChain, refuseCircle } from '../live/chain.ts'
import { ChainError } from '../live/chain-error.ts'
import { unitBelongs } from '../live/unit-belongs.ts'
import { celsiusWords, figure } from '../live/words.ts'
import type { Bench, Channel } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import { inForce, type Register, type Thermometer } from '../records/register.ts'
import {
  BENCH,
  type Check,
  leaveOut,
  note,
  type PreviewSource,
  REGISTER,
  stop,
  warning,
} from './preview-check.ts'

/** What speaks against a channel: its set-up, its thermometer's calibration and ranges, and its current. */
export function channelChecks(
  { bench, register, date, plan, units }: PreviewSource,
  channel: Channel,
): Check[] {
  const { id, name } = channel
  if (!bench.instruments.some((i) => i.id === channel.instrument)) {
    return [
      stop(
        `instrument-${id}`,
        `${name} is measured by ${channel.instrument}, which is not on the bench.`,
        'Choose an instrument of the bench.',
        BENCH,
      ),
    ]
  }
  for (const { scanner } of channel.route) {
    if (!bench.instruments.some((i) => i.id === scanner)) {
      return [
        stop(
          `scanner-${id}`,
          `${name} goes through ${scanner}, which is not on the bench.`,
          'Choose a scanner of the bench.',
          BENCH,
        ),
      ]
    }
  }
  const checks: Check[] = []
  try {
    refuseCircle(bench, channel)
    const chain = buildChain({ bench, register, date }, channel)
    for (const id of chain.follows) {
      const other = bench.channels.find((c) => c.id === id)
      if (other && !other.enabled)
        checks.push(
          stop(
            `follows-${channel.id}-${id}`,
            `${name} needs ${other.name}, which is not switched on.`,
            'Switch it on, or take a reference resistor or a fixed junction.',
            BENCH,
          ),
        )
    }
  } catch (fault) {
    if (!(fault instanceof ChainError)) throw fault
    return [stop(`chain-${id}`, fault.message, 'Put it right in the register or on the bench.', BENCH)]
  }
  const thermometer = register.thermometers.find((t) => t.id === channel.thermometer)
  if (!thermometer) {
    return channel.role === 'monitor'
      ? checks
      : [
          ...checks,
          stop(
            `thermometer-${id}`,
            `${name} has no thermometer.`,
            'Choose the thermometer that is connected.',
            BENCH,
          ),
        ]
  }
  const unit = units?.[channel.instrument]
  if (unit !== undefined && !unitBelongs(thermometer.kind, unit)) {
    return [
      ...checks,
      stop(
        `unit-${id}`,
        `${name} is measured in ${unit}, which ${thermometer.name} cannot have: it is a ${kindOf(thermometer).name.toLowerCase()}.`,
        'Choose an instrument or a profile that measures its signal, or the thermometer that is connected.',
        BENCH,
      ),
    ]
  }
  checks.push(...currentChecks(channel, thermometer, register, plan), ...junctionChecks(channel, thermometer))
  if (channel.role === 'reference') checks.push(...referenceChecks(id, thermometer, plan, date))
  const hottest = Math.max(...plan.setpoints.map((s) => s.celsius))
  const coldest = Math.min(...plan.setpoints.map((s) => s.celsius))
  if (hottest > thermometer.highC || coldest < thermometer.lowC) {
    checks.push(
      warning(
        `own-range-${id}`,
        `The plan goes from ${celsiusWords(coldest)} to ${celsiusWords(hottest)}; ${thermometer.name} is made for ${celsiusWords(thermometer.lowC)} to ${celsiusWords(thermometer.highC)}.`,
        'Take the thermometer out of the bath, or leave those setpoints out.',
        leaveOut(hottest > thermometer.highC ? hottest : coldest),
      ),
    )
  }
  return checks
}

/** What speaks against a reference: no calibration in force, one that was due, setpoints beyond it. */
function referenceChecks(id: string, thermometer: Thermometer, plan: Plan, date: string): Check[] {
  const checks: Check[] = []
  const calibration = inForce(thermometer.calibrations, date)
  if (!calibration) {
    checks.push(
      stop(
        `calibration-${id}`,
        `The reference ${thermometer.name} has no calibration in force.`,
        'Enter its certificate in the register.',
        REGISTER,
      ),
    )
  } else {
    if (calibration.due !== undefined && calibration.due < date) {
      checks.push(
        warning(
          `overdue-${id}`,
          `The calibration of ${thermometer.name} was due on ${calibration.due}.`,
          'Have it calibrated, or take it on: every reading will carry a mark.',
          REGISTER,
        ),
      )
    }
    for (const { celsius } of plan.setpoints) {
      if (celsius < calibration.lowC || celsius > calibration.highC) {
        checks.push(
          warning(
            `range-${id}-${celsius}`,
            `${celsiusWords(celsius)} lies outside the calibrated range of ${thermometer.name} (${celsiusWords(calibration.lowC)} to ${celsiusWords(calibration.highC)}).`,
            'Leave the setpoint out, or use another reference.',
            leaveOut(celsius),
          ),
        )
      }
    }
  }
  return checks
}

/** Currents a thermometer or a resistor should not be given. */
function currentChecks(channel: Channel, thermometer: Thermometer, register: Register, plan: Plan): Check[] {
  const checks: Check[] = []
  const pairs = plan.setpoints.some((s) => s.selfHeating)
  const most = channel.currentMa * (pairs ? Math.SQRT2 : 1)
  if (channel.currentMa > 1.5 * thermometer.currentMa) {
    checks.push(
      warning(
        `current-${channel.id}`,
        `${channel.name} is measured with ${channel.currentMa} mA; ${thermometer.name} is made for ${thermometer.currentMa} mA.`,
        'Set the current of the channel to that of the thermometer.',
        BENCH,
      ),
    )
  }
  const { reference } = channel
  const resistor =
    reference?.kind === 'resistor' ? register.resistors.find((r) => r.id === reference.resistor) : undefined
  if (resistor?.maxCurrentMa !== undefined && most > resistor.maxCurrentMa) {
    checks.push(
      warning(
        `resistor-current-${channel.id}`,
        `${channel.name} sends up to ${figure(most)} mA through ${resistor.name}, which bears ${resistor.maxCurrentMa} mA.`,
        'Use a smaller current or another resistor.',
        BENCH,
      ),
    )
  }
  return checks
}

/** A fit of a thermocouple takes its voltage as it was measured. */
function junctionChecks(channel: Channel, thermometer: Thermometer): Check[] {
  const { junction, name, role } = channel
  if (kindOf(thermometer).signal !== 'voltage') return []
  if (!junction) {
    return [
      note(
        `junction-${channel.id}`,
        `Nothing says where the reference junction of ${name} is kept; it is taken to be at 0 °C.`,
        'Say it on the bench.',
        BENCH,
      ),
    ]
  }
  const atIce = junction.kind === 'compensated' || (junction.kind === 'fixed' && junction.celsius === 0)
  if (role !== 'under-test' || atIce) return []
  return [
    warning(
      `junction-${channel.id}`,
      `The reference junction of ${name} is not at 0 °C. What is fitted to its voltage holds for a junction at this temperature alone.`,
      'Use an ice point or a compensated junction for a calibration.',
      BENCH,
    ),
  ]
}

/** Resistors and bridges whose own calibration was due before the night, each said once. */
export function dueChecks({ bench, register, date }: PreviewSource): Check[] {
  const enabled = bench.channels.filter((c) => c.enabled)
  const late = (id: string, name: string, due: string | undefined): Check[] =>
    due !== undefined && due < date
      ? [
          warning(
            `overdue-${id}`,
            `The calibration of ${name} was due on ${due}.`,
            'Have it calibrated, or take it on: the report says so.',
            REGISTER,
          ),
        ]
      : []
  const resistors = new Set(
    enabled.flatMap(({ reference }) => (reference?.kind === 'resistor' ? [reference.resistor] : [])),
  )
  const meters = new Set(enabled.map((c) => bench.instruments.find((i) => i.id === c.instrument)?.register))
  return [
    ...register.resistors
      .filter(({ id }) => resistors.has(id))
      .flatMap((r) => late(r.id, r.name, inForce(r.calibrations, date)?.due)),
    ...register.instruments.filter(({ id }) => meters.has(id)).flatMap((i) => late(i.id, i.name, i.due)),
  ]
}

/** Two channels by one way would be one thermometer read twice. */
export function wayChecks(bench: Bench): Check[] {
  const ways = new Map<string, Channel>()
  const checks: Check[] = []
  for (const channel of bench.channels) {
    if (!channel.enabled || channel.reference?.kind === 'channel') continue
    const nameOf = (id: string) => bench.instruments.find((i) => i.id === id)?.name ?? id
    const route = channel.route.map((r) => `${nameOf(r.scanner)} ${r.input}`)
    const way = [`${nameOf(channel.instrument)} ${channel.input}`, ...route].join(', ')
    const other = ways.get(way)
    if (other) {
      checks.push(
        stop(
          `way-${channel.id}`,
          `${channel.name} and ${other.name} are connected the same way (${way}).`,
          'Give each its own input, or switch one of them off.',
          BENCH,
        ),
      )
    }
    ways.set(way, channel)
  }
  return checks
}
