/**
 * Exports a session in a thread as a station does, in a process of its own so that its memory is judged alone, and prints one line of
 * JSON.
 */
import { rmSync } from 'node:fs'
import { EXPORT_FORMATS, type ExportFormat } from '../../main/store/export/export.ts'
import { SessionReader } from '../../main/store/reader.ts'

export interface Exported {
  ms: number
  /** Processor time of the whole process, ms. */
  cpuMs: number
  readings: number
  mostMb: number
}

const [path = '', name = ''] = process.argv.slice(2)
const format = EXPORT_FORMATS.find((one): one is ExportFormat => one === name)
if (format === undefined) throw new Error(`years-export: there is no format ${name}`)
const out = `${path}.${format}`
const reader = new SessionReader()
const from = performance.now()
const cpu = process.cpuUsage()
const { readings } = await reader.long().export(path, { format, out, replace: true })
const ms = performance.now() - from
const { user, system } = process.cpuUsage(cpu)
await reader.close()
rmSync(out)
// The most that was resident at any moment, as the system counted it.
const mostMb = process.resourceUsage().maxRSS / 1e3
console.log(JSON.stringify({ ms, cpuMs: (user + system) / 1e3, readings, mostMb } satisfies Exported))
