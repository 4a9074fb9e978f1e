/** Exports a session in a process of its own, so that its memory is judged alone, and prints one line of JSON. */
import { rmSync } from 'node:fs'
import { EXPORT_FORMATS, type ExportFormat, exportSession } from '../../main/store/export/export.ts'

export interface Exported {
  ms: number
  readings: number
  mostMb: number
}

const [path = '', name = ''] = process.argv.slice(2)
const format = EXPORT_FORMATS.find((one): one is ExportFormat => one === name)
if (format === undefined) throw new Error(`years-export: there is no format ${name}`)
const out = `${path}.${format}`
const from = performance.now()
const { readings } = await exportSession(path, { format, out, replace: true })
const ms = performance.now() - from
rmSync(out)
// The most that was resident at any moment, as the system counted it.
const mostMb = process.resourceUsage().maxRSS / 1e3
console.log(JSON.stringify({ ms, readings, mostMb } satisfies Exported))
