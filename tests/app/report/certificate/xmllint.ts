import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'

const STANDARDS = path.resolve(import.meta.dirname, '../../../standards/dcc')
const SCHEMA = path.join(STANDARDS, 'v3.3.0/dcc.xsd')

/** Whether xmllint is there to validate with. */
export function canValidate(): boolean {
  try {
    execFileSync('xmllint', ['--version'], { stdio: 'ignore' })
    return true
  } catch {
    console.warn('xmllint is not installed: certificates are not validated here.')
    return false
  }
}
/** Complaints of xmllint against the published schema; none for a valid certificate. */
export function complaints(xml: string): string {
  const folder = mkdtempSync(path.join(tmpdir(), 'dcc-'))
  const file = path.join(folder, 'certificate.xml')
  writeFileSync(file, xml)
  try {
    execFileSync('xmllint', ['--nonet', '--noout', '--schema', SCHEMA, file], { stdio: 'pipe' })
    return ''
  } catch (fault) {
    return String((fault as { stderr: Buffer }).stderr)
  } finally {
    rmSync(folder, { recursive: true })
  }
}
