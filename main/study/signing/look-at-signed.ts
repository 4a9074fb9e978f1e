import { existsSync, readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import type * as pkijs from 'pkijs'
import { z } from 'zod'
import { first } from '../../../app/base/lists.ts'
import { fileNumber } from '../../../app/report/certificate/certificate.ts'
import type { SessionFile, SignOff } from '../../store/session-file.ts'
import { HEAD_FILE, headText } from './head-text.ts'
import {
  readRoots,
  type Verdict,
  verdictWords,
  verifyCms,
  verifyPdf,
  verifyStamp,
  verifyXml,
} from './verify.ts'

/** Where in a station's data folder roots lie that signatures are checked against. */
const ROOTS = path.join('keys', 'roots')

/** Roots that a station's data folder knows: `keys/roots/*.pem`. */
export function rootsOf(folder: string): pkijs.Certificate[] {
  const place = path.join(folder, ROOTS)
  const names = existsSync(place) ? readdirSync(place).filter((name) => name.endsWith('.pem')) : []
  return names.flatMap((name) => readRoots(readFileSync(path.join(place, name), 'utf8')))
}

/** A signed or stamped file, and what its signature says. */
export interface LookedAtFile {
  readonly name: string
  readonly words: string
  /** Whether nothing speaks against it: a file without a signature has none that could be broken. */
  readonly holds: boolean
}

/** What a session says of the files that were signed of it. */
export interface SignedSession {
  readonly id: string
  readonly signOffs: readonly Pick<SignOff, 'head' | 'readings'>[]
  /** Numbers of the certificates that its last sign-off signed electronically. */
  readonly electronic: readonly string[]
}

const Electronic = z.looseObject({
  electronic: z.literal(true),
  certificates: z.record(z.string(), z.string()),
})

export function signedSession(session: SessionFile): SignedSession {
  const last = session.events({ kinds: ['sign-off'] }).at(-1)
  const read = Electronic.safeParse(last?.data)
  return {
    id: session.info.id,
    signOffs: session.signOffs,
    electronic: read.success ? Object.values(read.data.certificates) : [],
  }
}

interface Look {
  readonly roots: readonly pkijs.Certificate[]
  readonly nowUtcUs: number
  readonly session: SignedSession
}

const said = (name: string, verdict: Verdict): LookedAtFile => ({
  name,
  words: verdictWords(verdict),
  holds: verdict.state !== 'broken',
})

/** The file of a certificate that was signed electronically: its number, then its version. */
const isOf = (name: string, number: string) => name.startsWith(`${fileNumber(number)}-v`)

/** A certificate without a signature is a draft, or one whose signature was taken off. */
function certificate(name: string, verdict: Verdict, { electronic }: SignedSession): LookedAtFile | null {
  if (verdict.state !== 'none') return said(name, verdict)
  if (!electronic.some((number) => isOf(name, number))) return null
  return {
    name,
    holds: false,
    words: 'It was signed electronically and bears no signature here: it was changed.',
  }
}

async function look(
  folder: string,
  name: string,
  { roots, nowUtcUs, session }: Look,
): Promise<LookedAtFile | null> {
  const data = readFileSync(path.join(folder, name))
  if (name.endsWith('.pdf')) return certificate(name, await verifyPdf(data, roots, nowUtcUs), session)
  if (name.endsWith('.xml'))
    return certificate(name, await verifyXml(data.toString('utf8'), roots, nowUtcUs), session)
  if (name === HEAD_FILE) {
    const known = session.signOffs.some((one) => headText(session.id, one) === data.toString('utf8'))
    return {
      name,
      holds: known,
      words: known
        ? 'It names the head of the chain that was signed off.'
        : 'It names no head that this session was signed off with: it is of another session, or was changed.',
    }
  }
  const ending = /\.(p7s|tsr)$/.exec(name)?.[1]
  if (!ending) return null
  const own = name.slice(0, -ending.length - 1)
  if (!existsSync(path.join(folder, own)))
    return { name, holds: false, words: `The file ${own} that it belongs to is missing. Put it beside it.` }
  const signed = readFileSync(path.join(folder, own))
  if (ending === 'p7s') return said(name, await verifyCms(data, signed, roots, nowUtcUs))
  const stamp = await verifyStamp(data, signed, roots)
  return {
    name,
    holds: stamp !== null,
    words:
      stamp === null
        ? `It is no time stamp over ${own} as it stands here: one of the two was changed.`
        : `Stamped ${stamp.time.toISOString().slice(0, 16)}Z${stamp.trusted === false ? ' by a service that leads to no root known here' : ''}. ${own} is as it was then.`,
  }
}

/**
 * Looks at every signed or stamped file of folders that hold a session's: certificates, signatures beside their files, time
 * stamps; and names the certificates that were signed electronically and are in none of them.
 */
export async function lookAtSigned(folders: readonly string[], given: Look): Promise<LookedAtFile[]> {
  const names = folders.flatMap((folder) =>
    existsSync(folder)
      ? readdirSync(folder, { withFileTypes: true })
          .filter((entry) => entry.isFile())
          .map(({ name }) => ({ folder, name }))
          .toSorted((a, b) => (a.name < b.name ? -1 : 1))
      : [],
  )
  const found: LookedAtFile[] = []
  for (const { folder, name } of names) {
    const one = await look(folder, name, given)
    if (one) found.push({ ...one, name: path.relative(first(folders), path.join(folder, one.name)) })
  }
  const missing = given.session.electronic
    .filter((number) => !names.some(({ name }) => name.endsWith('.pdf') && isOf(name, number)))
    .map((number) => ({
      name: number,
      holds: false,
      words: 'This certificate was signed electronically and is not here.',
    }))
  return [...found, ...missing]
}
