import { resolve } from 'node:path'
import { Command } from 'commander'
import { coverageText, roundedUncertainty } from '../../../app/base/rounding.ts'
import { duration, utcDay } from '../../../app/base/times.ts'
import type { Foretold } from '../../../app/contract/studies.ts'
import { celsiusWords } from '../../../app/live/words.ts'
import { aroundS, estimatePlan } from '../../../app/plan/estimate.ts'
import { foretell } from '../../../app/plan/foretell.ts'
import { paceOf } from '../../../app/plan/night-pace.ts'
import { partWords } from '../../../app/plan/part-words.ts'
import { BenchChoice } from '../../station/bench-choice.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { openStationStore } from '../../store/station-store.ts'
import { earlierNights } from '../../study/earlier-nights.ts'
import { defaultDataFolder } from '../data-folder.ts'
import { readPlan } from '../plan-file.ts'
import { previewGround } from '../previews.ts'

/** Temperature from which a bath is taken to set out, degC. */
const ROOM_C = 23

const HELP = `PLAN is a JSON file, or the id of a plan that the station keeps. The bench is the one that the station uses.

The uncertainties are expanded ones of each thermometer's curve, worked out by the budget of the report from the register and from
the newest nights on the bench. Nothing is started.`

/** `stillpoint foretell`: the uncertainties and the duration of a plan before it is run. */
export function foretellCommand(): Command {
  return new Command('foretell')
    .argument('<plan>', 'plan file, or the id of a stored plan')
    .option('--data <folder>', 'data folder of the station', defaultDataFolder())
    .option('--json', 'print one JSON object')
    .addHelpText('after', `\n${HELP}`)
    .action(async (name: string, o: { data: string; json?: boolean }) => {
      const folder = resolve(o.data)
      const clock = new RealClock()
      const store = openStationStore(folder, { clock, mode: 'read' })
      try {
        const asked = await readPlan(name)
        const plan = typeof asked === 'string' ? store.plans().find(({ id }) => id === asked) : asked
        if (!plan)
          throw new Error(
            `The station keeps no plan "${name}". Name one of its plans, or a file that ends in .json.`,
          )
        const bench = new BenchChoice(store).need()
        const ground = previewGround(store, folder)
        const nights = earlierNights(ground.sessions, bench, ground.options.templates)
        const date = utcDay(clock.now().utcUs)
        const register = store.registerOfBench(bench)
        const found = foretell({ plan, bench, register, date, nights, options: ground.options })
        const pace = paceOf(nights)
        const lastS = estimatePlan(plan, bench, ROOM_C, pace).at(-1)?.endS ?? 0
        const totalS = lastS + aroundS(plan, bench, pace).afterS
        if (o.json) console.log(JSON.stringify({ ...found, totalS }))
        else for (const line of linesOf(found, totalS)) console.log(line)
        if (found.refusal !== null) process.exitCode = 1
      } finally {
        store.close()
      }
    })
}

function linesOf({ refusal, results, changes, remarks }: Foretold, totalS: number): string[] {
  if (refusal !== null) return [refusal]
  return [
    `About ${duration(totalS)} in all.`,
    ...results.flatMap(({ name, refusal: why, at }) =>
      why === null
        ? [
            `${name}:`,
            ...at.map(({ celsius, expandedMk, k, most }) => {
              const U = `U ${roundedUncertainty(expandedMk)} mK (k = ${coverageText(k)})`
              return `  ${celsiusWords(celsius)}: ${U}; ${partWords(most)}`
            }),
          ]
        : [`${name}: ${why}`],
    ),
    ...(changes.length > 0 ? ['What would change it:', ...changes.map((c) => `  ${c.words}`)] : []),
    ...remarks,
  ]
}
