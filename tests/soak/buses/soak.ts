import { writeFileSync } from 'node:fs'
import type { LabBus } from '../../../simulator/buses/lab-buses.ts'
import { type NightResult, runNight } from '../night.ts'
import { type BusRun, runBus } from './exchanges.ts'
import { SOAK_BUSES } from './peer.ts'

/** Nights of the demo, without faults: over each bus, and over several at once. */
const NIGHTS: readonly LabBus[] = ['hislip', 'vxi-11', 'usbtmc', 'modbus', 'modbus-rtu', 'mixed']

/** So many exchanges with faults over each bus, and a night of the demo over each; whether nothing was wrong. */
export async function busSoak(exchanges: number, seed: number, table?: string): Promise<boolean> {
  const runs: BusRun[] = []
  for (const bus of SOAK_BUSES) {
    const run = await runBus(bus, exchanges, seed)
    runs.push(run)
    console.log(runLine(run))
  }
  const nights: { bus: LabBus; night: NightResult }[] = []
  for (const bus of NIGHTS) {
    const night = await runNight(seed, [], 'silent', undefined, bus)
    nights.push({ bus, night })
    const { ending, points, hours, realS, wrong, reason } = night
    console.log(
      `night over ${bus}: ${ending}, ${points} points, ${hours.toFixed(1)} h in ${realS.toFixed(1)} s`,
    )
    for (const words of [...wrong, ...(ending === 'complete' ? [] : [reason])]) console.log(`  ${words}`)
  }
  if (table !== undefined) writeFileSync(table, tableOf(runs, nights, exchanges, seed))
  const good =
    runs.every(({ wrong, stale }) => wrong === 0 && stale === 0) &&
    nights.every(({ night }) => night.ending === 'complete' && night.wrong.length === 0 && night.lost === 0)
  console.log(good ? 'nothing wrong' : 'NOT GOOD')
  return good
}

function runLine({ bus, exchanges, wrong, stale, good, orders, reconnects, hours, realS }: BusRun): string {
  return (
    `${bus}: ${exchanges} exchanges, ${good} answers believed, ${wrong} wrong; ${orders} orders, ${stale} stale; ` +
    `${reconnects} reconnects, ${hours.toFixed(1)} h in ${realS.toFixed(0)} s`
  )
}

function tableOf(
  runs: readonly BusRun[],
  nights: readonly { bus: LabBus; night: NightResult }[],
  exchanges: number,
  seed: number,
): string {
  const kinds = [...new Set(runs.flatMap(({ faults }) => Object.keys(faults)))].sort()
  const row = (cells: readonly (string | number)[]) => `| ${cells.join(' | ')} |`
  return `# Soak of the buses

Exchanges over each bus with faults of its packets, its instrument and its link, drawn from a seed: each question has an
answer of its own, so that one taken for another's is seen, and the far end keeps a book of the orders it heard. Then a
night of the demo over each bus, and over several at once, without faults. Made with one command:

    npm run soak -- --buses ${exchanges} --seed ${seed} --table docs/soak-buses.md

The far ends are the lab's own servers over sockets on loopback. A serial line with Modbus is here its frames over a
socket (no adapter, no baud rate) in the exchanges, and a pair of pseudo-terminals in the night.

| bus | exchanges | answers believed | of them to another question | orders | of them heard too late, twice or out of turn | reconnects |
|---|---|---|---|---|---|---|
${runs.map((r) => row([r.bus, r.exchanges, r.good + r.wrong, r.wrong, r.orders, r.stale, r.reconnects])).join('\n')}

| night of the demo over | ending | points | points off by more than they may | readings | shown and not stored | gaps |
|---|---|---|---|---|---|---|
${nights
  .map(({ bus, night: n }) => row([bus, n.ending, n.points, n.wrong.length, n.readings, n.lost, n.gaps]))
  .join('\n')}

The terminals of the night over RTU pass through another process. The jumping clock is told how many bytes went into each
cable and how many came out, and stands still while some are on their way; so that night runs complete on a machine kept
busy by other programs as well.

## Faults ordered

${row(['fault', ...runs.map(({ bus }) => bus)])}
${row(['---', ...runs.map(() => '---')])}
${kinds.map((kind) => row([kind, ...runs.map(({ faults }) => faults[kind] ?? 0)])).join('\n')}

What is not ordered: an instrument that gives the answer to another question as its own, of the same form and under the right
number. No bus can tell that; profiles with strict patterns, inputs named in answers, and \`takesMs\` are there for it. On
a serial line with Modbus no response comes later than the link waits for it: a later one of the same length and function
could be taken for the next one's, since nothing in it tells them apart; set \`lateMs\` generously.
`
}
