/**
 * Soak: night after night of the lab with random faults, each judged against the lab's truth.
 *   npm run soak -- --nights N --seed S [--only kind,kind] [--table FILE]
 *   npm run soak -- --kills N --seed S
 *   npm run soak -- --durability
 *   npm run soak -- --coverage N --seed S
 *   npm run soak -- --bridges N --seed S [--table FILE]
 *   npm run soak -- --cells N --seed S [--table FILE]
 *   npm run soak -- --hostile --nights N --seed S [--only case,case] [--json FILE] [--table FILE]
 *   npm run soak -- --guide
 *   npm run soak -- --bare [--tests] [--npm 10]
 *   npm run soak -- --packages
 *   npm run soak -- --points N --seed S
 *   npm run soak -- --years N --seed S [--folder DIR]
 *   npm run soak -- --order [--speed 20]
 *   npm run soak -- --buses EXCHANGES --seed S [--table FILE]
 *   npm run soak -- --abuse [--scale 0.1] [--table FILE]
 */
import { writeFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { abuse } from './abuse.ts'
import { onBareMachine } from './bare.ts'
import { busSoak } from './buses/soak.ts'
import { coverageOver } from './coverage.ts'
import { coverageTable } from './coverage-table.ts'
import { tryToLose } from './durability.ts'
import { runGuide } from './guide.ts'
import { hostileSoak } from './hostile/soak.ts'
import { killStorm } from './kills.ts'
import { runNight } from './night.ts'
import { orderProof } from './order/proof.ts'
import { packForAll } from './packages.ts'
import { pointsAgain } from './points.ts'
import { Totals, table } from './totals.ts'
import { tenYears } from './years.ts'

// Memory is judged by what is in use: what only waits to be collected is collected first.
setFlagsFromString('--expose-gc')

const { values } = parseArgs({
  options: {
    nights: { type: 'string', default: '20' },
    seed: { type: 'string', default: '1' },
    kills: { type: 'string', default: '0' },
    durability: { type: 'boolean', default: false },
    packages: { type: 'boolean', default: false },
    bare: { type: 'boolean', default: false },
    npm: { type: 'string', multiple: true },
    tests: { type: 'boolean', default: false },
    coverage: { type: 'string', default: '0' },
    bridges: { type: 'string', default: '0' },
    cells: { type: 'string', default: '0' },
    points: { type: 'string', default: '0' },
    order: { type: 'boolean', default: false },
    speed: { type: 'string', default: '20' },
    guide: { type: 'boolean', default: false },
    buses: { type: 'string', default: '0' },
    hostile: { type: 'boolean', default: false },
    abuse: { type: 'boolean', default: false },
    scale: { type: 'string', default: '1' },
    json: { type: 'string' },
    only: { type: 'string' },
    table: { type: 'string' },
    years: { type: 'string', default: '0' },
    folder: { type: 'string' },
    log: { type: 'string', default: 'silent' },
  },
})
const nights = Number(values.nights)
const first = Number(values.seed)
if (!Number.isInteger(nights) || nights < 1 || !Number.isInteger(first)) {
  console.error('soak: --nights and --seed are whole numbers')
  process.exit(2)
}
if (Number(values.buses) > 0) process.exit((await busSoak(Number(values.buses), first, values.table)) ? 0 : 1)
if (values.order) process.exit((await orderProof(Number(values.speed))) ? 0 : 1)
if (values.abuse) process.exit((await abuse(Number(values.scale), values.table)) ? 0 : 1)
if (values.durability) {
  const { good, lines } = tryToLose()
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
if (values.guide) {
  const { good, lines } = runGuide()
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
if (values.packages) {
  const { good, lines } = packForAll()
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
if (Number(values.years) > 0) {
  const { good, lines } = await tenYears(Number(values.years), first, values.folder)
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
if (values.bare) {
  const { good, lines } = onBareMachine(values.tests, values.npm)
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
if (Number(values.coverage) > 0) {
  const { good, lines } = coverageOver(Number(values.coverage), first)
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
if (Number(values.points) > 0) {
  const { good, lines } = await pointsAgain(Number(values.points), first)
  for (const line of lines) console.log(line)
  process.exit(good ? 0 : 1)
}
for (const kind of ['bridges', 'cells'] as const) {
  const count = Number(values[kind])
  if (!(count > 0)) continue
  const { good, text } = coverageTable(kind, count, first)
  if (values.table !== undefined) writeFileSync(values.table, text)
  console.log(text)
  process.exit(good ? 0 : 1)
}
if (values.hostile) {
  const good = hostileSoak({ nights, seed: first, only: values.only, json: values.json, table: values.table })
  process.exit(good ? 0 : 1)
}
const kills = Number(values.kills)
if (kills > 0) {
  const line = await killStorm(kills, first)
  console.log(line.words)
  process.exit(line.good ? 0 : 1)
}
const totals = new Totals(runInNewContext('gc') as () => void)
for (let seed = first; seed < first + nights; seed++) {
  const night = await runNight(seed, values.only?.split(','), values.log)
  totals.add(night)
  const faults = Object.values(night.faults).reduce((a, b) => a + b, 0)
  console.log(
    `night ${seed}: ${night.ending}, ${night.points} points (${night.marked} marked), ${faults} faults, ${night.gaps} gaps, ` +
      `${night.hours.toFixed(1)} h in ${night.realS.toFixed(1)} s, ${totals.memoryMb} MB`,
  )
  if (night.ending === 'stopped-safely') console.log(`  ${night.reason}`)
  if (night.ending === 'hung' || night.ending === 'crashed' || night.wrong.length > 0 || night.lost > 0) {
    console.log(
      `  ${[night.reason, ...night.wrong, night.lost > 0 ? `${night.lost} lost` : ''].filter(Boolean).join('\n  ')}`,
    )
  }
}
if (values.table !== undefined)
  writeFileSync(values.table, table(totals, { nights, first, only: values.only }))
console.log(totals.line())
process.exit(totals.good ? 0 : 1)
