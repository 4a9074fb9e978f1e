import type { PlanPreview } from '../contract/studies.ts'
import type { Bench, Channel } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import { inForce, type Register, type Thermometer } from '../records/register.ts'
import { buildChain } from './chain.ts'
import { ChainError } from './chain-error.ts'
import { estimatePlan, type Pace, scanS, USUAL_PACE } from './estimate.ts'
import { celsiusWords, duration, figure } from './words.ts'

export interface PreviewSource {
  readonly plan: Plan
  readonly bench: Bench
  readonly register: Register
  readonly date: string
  /** Setpoint limits of bath and fluid, with what sets the upper one; absent: no bath on the bench. */
  readonly limits: { readonly lowC: number; readonly highC: number; readonly because: string } | undefined
  readonly fromC: number
  readonly freeBytes: number | undefined
  readonly pace?: Pace
}

type Check = PlanPreview['checks'][number]

/** Most bytes a reading takes in a session file, everything included: measured at one reading a commit; 60 at 96 a commit. */
const BYTES_PER_READING = 112
const ROOM_TEMPERATURE_C = 23

/** What a plan will take and what speaks against it, before anything is started. */
export function previewPlan(source: PreviewSource): PlanPreview {
  const { plan, bench, fromC = ROOM_TEMPERATURE_C, pace = USUAL_PACE } = source
  const steps = estimatePlan(plan, bench, fromC, pace)
  const totalS = steps.at(-1)?.endS ?? 0
  const oneScanS = Math.max(scanS(bench, pace), 0.1)
  const perScan = bench.channels.filter((c) => c.enabled).reduce((sum, c) => sum + c.readings + c.discard, 0)
  const readings = Math.round((totalS / oneScanS) * perScan)
  const bytes = readings * BYTES_PER_READING
  return {
    steps: [...steps],
    totalS,
    readings,
    bytes,
    checks: [
      ...benchChecks(source),
      ...wayChecks(source.bench),
      ...source.bench.channels.filter((c) => c.enabled).flatMap((c) => channelChecks(source, c)),
      ...planChecks(source, oneScanS, totalS),
      ...diskChecks(source, bytes),
    ],
  }
}

function benchChecks({ bench, plan, limits }: PreviewSource): Check[] {
  const checks: Check[] = []
  const enabled = bench.channels.filter((c) => c.enabled)
  if (enabled.length === 0) {
    checks.push(
      stop('no-channels', 'The bench has no channel that is switched on.', 'Add channels on the Bench page.'),
    )
  }
  if (!enabled.some((c) => c.role === 'reference')) {
    checks.push(
      stop(
        'no-reference',
        'No channel is the reference.',
        'Give one channel the role of reference thermometer.',
      ),
    )
  }
  if (!enabled.some((c) => c.role === 'under-test')) {
    checks.push(
      warning(
        'none-under-test',
        'No channel is under test.',
        'Give the channels to be calibrated that role.',
      ),
    )
  }
  for (const id of plan.settling.channels) {
    if (!enabled.some((c) => c.id === id)) {
      checks.push(
        stop(
          `settling-${id}`,
          `The settling rule waits for ${id}, which is not switched on.`,
          'Switch it on, or take it out of the rule.',
        ),
      )
    }
  }
  if (!bench.bath) {
    checks.push(
      stop('no-bath', 'The bench has no bath.', 'Enter the bath with its limits, with or without a link.'),
    )
  } else if (bench.bath.instrument === undefined) {
    checks.push(
      note(
        'bath-by-hand',
        'The bath has no link: the station will ask for every setpoint to be set by hand.',
        'Stay near, or choose a bath with a link.',
      ),
    )
  } else if (!bench.bath.fluid) {
    checks.push(
      warning(
        'no-fluid',
        "The bath's fluid is not entered, so its flash point cannot be kept to.",
        'Choose the fluid on the Bench page.',
      ),
    )
  }
  if (limits) {
    for (const [i, { celsius }] of plan.setpoints.entries()) {
      const name = `Setpoint ${i + 1}, ${celsiusWords(celsius)},`
      if (celsius > limits.highC) {
        checks.push(
          stop(
            `high-${i}`,
            `${name} is above ${celsiusWords(limits.highC)}, the limit set by ${limits.because}.`,
            'Take it out of the plan, or use another fluid.',
          ),
        )
      } else if (celsius < limits.lowC) {
        checks.push(
          stop(
            `low-${i}`,
            `${name} is below ${celsiusWords(limits.lowC)}, the lowest bath and fluid allow.`,
            'Take it out of the plan, or use another fluid.',
          ),
        )
      }
    }
  }
  return checks
}

function channelChecks({ bench, register, date, plan }: PreviewSource, channel: Channel): Check[] {
  const { id, name } = channel
  if (!bench.instruments.some((i) => i.id === channel.instrument)) {
    return [
      stop(
        `instrument-${id}`,
        `${name} is measured by ${channel.instrument}, which is not on the bench.`,
        'Choose an instrument of the bench.',
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
        ),
      ]
    }
  }
  try {
    buildChain({ bench, register, date }, channel)
  } catch (fault) {
    if (!(fault instanceof ChainError)) throw fault
    return [stop(`chain-${id}`, fault.message, 'Put it right in the register or on the Bench page.')]
  }
  const thermometer = register.thermometers.find((t) => t.id === channel.thermometer)
  if (!thermometer) {
    return channel.role === 'monitor'
      ? []
      : [
          stop(
            `thermometer-${id}`,
            `${name} has no thermometer.`,
            'Choose the thermometer that is connected.',
          ),
        ]
  }
  const checks: Check[] = currentChecks(channel, thermometer, register, plan)
  const calibration = inForce(thermometer.calibrations, date)
  if (channel.role === 'reference') {
    if (!calibration) {
      checks.push(
        stop(
          `calibration-${id}`,
          `The reference ${thermometer.name} has no calibration in force.`,
          'Enter its certificate in the register.',
        ),
      )
    } else {
      if (calibration.due !== undefined && calibration.due < date) {
        checks.push(
          warning(
            `overdue-${id}`,
            `The calibration of ${thermometer.name} was due on ${calibration.due}.`,
            'Have it calibrated, or take it on: every reading will carry a mark.',
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
            ),
          )
        }
      }
    }
  }
  const hottest = Math.max(...plan.setpoints.map((s) => s.celsius))
  const coldest = Math.min(...plan.setpoints.map((s) => s.celsius))
  if (hottest > thermometer.highC || coldest < thermometer.lowC) {
    checks.push(
      warning(
        `own-range-${id}`,
        `The plan goes from ${celsiusWords(coldest)} to ${celsiusWords(hottest)}; ${thermometer.name} is made for ${celsiusWords(thermometer.lowC)} to ${celsiusWords(thermometer.highC)}.`,
        'Take the thermometer out of the bath, or change the setpoints.',
      ),
    )
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
      ),
    )
  }
  return checks
}

/** Two channels by one way would be one thermometer read twice. */
function wayChecks(bench: Bench): Check[] {
  const ways = new Map<string, Channel>()
  const checks: Check[] = []
  for (const channel of bench.channels) {
    if (!channel.enabled || channel.reference?.kind === 'channel') continue
    const route = channel.route.map((r) => `${r.scanner} ${r.input}`)
    const way = [`${channel.instrument} ${channel.input}`, ...route].join(', ')
    const other = ways.get(way)
    if (other) {
      checks.push(
        stop(
          `way-${channel.id}`,
          `${channel.name} and ${other.name} are connected the same way (${way}).`,
          'Give each its own input, or switch one of them off.',
        ),
      )
    }
    ways.set(way, channel)
  }
  return checks
}

function planChecks({ plan, fromC }: PreviewSource, oneScanS: number, totalS: number): Check[] {
  const checks: Check[] = []
  const { windowS } = plan.settling
  if (oneScanS * 5 > windowS) {
    checks.push(
      stop(
        'window',
        `One scan takes about ${duration(oneScanS)}, so the window of ${duration(windowS)} holds fewer than five readings and nothing would ever settle.`,
        `Make the window at least ${duration(oneScanS * 8)}.`,
      ),
    )
  }
  if (windowS + plan.settling.holdS > plan.maxWaitS) {
    checks.push(
      stop(
        'wait',
        'Window and hold time together are longer than the longest wait.',
        'Make the wait longer, or the window shorter.',
      ),
    )
  }
  const hottest = Math.max(...plan.setpoints.map((s) => s.celsius))
  if (hottest > fromC + 20) {
    checks.push(
      note(
        'hot',
        `The bath goes up to ${celsiusWords(hottest)}. Hot fluid burns and can ignite; this program is not a safety device.`,
        'An independent cut-out belongs on the bath. Local codes and licensed practice come first.',
      ),
    )
  }
  checks.push({ id: 'time', severity: 'fine', words: `About ${duration(totalS)} in all.`, remedy: '' })
  return checks
}

function diskChecks({ freeBytes }: PreviewSource, bytes: number): Check[] {
  if (freeBytes === undefined) return []
  const needed = bytes * 2 + 200e6
  if (freeBytes >= needed) return []
  return [
    warning(
      'disk',
      `The disk has ${Math.round(freeBytes / 1e6)} MB free; the session may need ${Math.round(needed / 1e6)} MB.`,
      'Make room before the night.',
    ),
  ]
}

const stop = (id: string, words: string, remedy: string): Check => ({ id, severity: 'stop', words, remedy })
const warning = (id: string, words: string, remedy: string): Check => ({
  id,
  severity: 'warning',
  words,
  remedy,
})
const note = (id: string, words: string, remedy: string): Check => ({ id, severity: 'note', words, remedy })
