import { duration } from '../base/times.ts'
import type { PlanPreview } from '../contract/studies.ts'
import { celsiusWords } from '../live/words.ts'
import { readingsIn } from './count-readings.ts'
import { aroundS, estimatePlan, scanS, USUAL_PACE } from './estimate.ts'
import { availableChecks } from './preview-available.ts'
import { channelChecks, dueChecks, wayChecks } from './preview-channel.ts'
import { BENCH, type Check, leaveOut, note, type PreviewSource, stop, warning } from './preview-check.ts'
import { standardReferences } from './standard-reference.ts'

/** Most bytes a reading takes in a session file, everything included: measured at one reading a commit; 60 at 96 a commit. */
const BYTES_PER_READING = 112
const ROOM_TEMPERATURE_C = 23
/** What a plan will take and what speaks against it, before anything is started. */
export function previewPlan(source: PreviewSource): PlanPreview {
  const { plan, bench, fromC = ROOM_TEMPERATURE_C, pace = USUAL_PACE } = source
  const steps = estimatePlan(plan, bench, fromC, pace)
  const totalS = (steps.at(-1)?.endS ?? 0) + aroundS(plan, bench, pace).afterS
  const oneScanS = Math.max(scanS(bench, pace), 0.1)
  const readings = readingsIn(totalS, bench, pace)
  const bytes = readings * BYTES_PER_READING
  return {
    steps: [...steps],
    totalS,
    nights: 0,
    readings,
    bytes,
    checks: [
      ...benchChecks(source),
      ...wayChecks(source.bench),
      ...dueChecks(source),
      ...availableChecks(source),
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
      stop(
        'no-channels',
        'The bench has no channel that is switched on.',
        'Add channels on the bench.',
        BENCH,
      ),
    )
  }
  if (!enabled.some((c) => c.role === 'reference')) {
    checks.push(
      stop(
        'no-reference',
        'No channel is the reference.',
        'Give one channel the role of reference thermometer.',
        BENCH,
      ),
    )
  }
  if (!enabled.some((c) => c.role === 'under-test')) {
    checks.push(
      warning(
        'none-under-test',
        'No channel is under test.',
        'Give the channels to be calibrated that role.',
        BENCH,
      ),
    )
  }
  for (const id of plan.settling.channels) {
    if (!enabled.some((c) => c.id === id)) {
      checks.push(
        stop(
          `settling-${id}`,
          `The settling rule waits for ${bench.channels.find((c) => c.id === id)?.name ?? id}, which is not switched on.`,
          'Switch it on, or take it out of the rule.',
          BENCH,
        ),
      )
    }
  }
  if (!bench.bath) {
    checks.push(
      stop(
        'no-bath',
        'The bench has no bath.',
        'Enter the bath with its limits, with or without a link.',
        BENCH,
      ),
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
        'Choose the fluid on the bench.',
        BENCH,
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
            'Take it out of the plan, or use another bath or fluid.',
            leaveOut(celsius),
          ),
        )
      } else if (celsius < limits.lowC) {
        checks.push(
          stop(
            `low-${i}`,
            `${name} is below ${celsiusWords(limits.lowC)}, the lowest bath and fluid allow.`,
            'Take it out of the plan, or use another bath or fluid.',
            leaveOut(celsius),
          ),
        )
      }
    }
  }
  return checks
}

function planChecks(source: PreviewSource, oneScanS: number, totalS: number): Check[] {
  const { plan, bench, register, date, fromC } = source
  const checks: Check[] = []
  const standard = standardReferences(bench, register, date)
  if (!plan.wtpCheck && standard.length > 0) {
    const names = standard.map((c) => c.name).join(', ')
    checks.push(
      note(
        'no-wtp',
        `R(0.01 °C) of ${names} is not read before and after: the report will remark that nobody knows whether it held.`,
        'Let it be read before and after, or leave it out knowing that.',
      ),
    )
  }
  const { windowS } = plan.settling
  const enoughS = Math.ceil((oneScanS * 8) / 60) * 60
  if (oneScanS * 5 > windowS) {
    checks.push(
      stop(
        'window',
        `One scan takes about ${duration(oneScanS)}, so the window of ${duration(windowS)} holds fewer than five readings and nothing would ever settle.`,
        `Make the window at least ${duration(enoughS)}.`,
        { kind: 'window', windowS: enoughS },
      ),
    )
  }
  if (windowS + plan.settling.holdS > plan.maxWaitS) {
    checks.push(
      stop(
        'wait',
        `Window and hold time together take ${duration(windowS + plan.settling.holdS)}, longer than the longest wait of ${duration(plan.maxWaitS)}.`,
        'Make the wait longer, or the window shorter.',
        { kind: 'wait', maxWaitS: Math.ceil((windowS + plan.settling.holdS) / 1800) * 3600 },
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
