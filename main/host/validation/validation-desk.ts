import { gunzipSync, gzipSync } from 'node:zlib'
import type { Clock } from '../../../app/base/clock.ts'
import { utcDay } from '../../../app/base/times.ts'
import type { ValidationLine, ValidationState } from '../../../app/contract/calls-validation.ts'
import type { Settings } from '../../../app/contract/settings.ts'
import { type Said, said } from '../../../app/messages/said.ts'
import {
  countFigures,
  type KeptValidation,
  type ProgramFacts,
  type ValidationRecord,
} from '../../../app/validation/record.ts'
import type { Station } from '../../station/station.ts'
import { StationError } from '../../station/station-error.ts'
import type { StationStore } from '../../store/station-store.ts'
import { WorkerPool, workerScript } from '../../store/worker-pool.ts'
import { installedProgram } from './program.ts'
import { hashOfRecord } from './record-hash.ts'
import type { ValidationTasks } from './validation-tasks.ts'

export interface ValidationParts {
  readonly station: Station
  readonly store: StationStore
  readonly clock: Clock
  readonly settings: () => Settings
  /** What is installed, looked at anew. */
  readonly installed?: () => Promise<ProgramFacts>
}

const KIND = 'validation'

/** Validations of this station: has them run, keeps their records, and knows which of them holds for the program of now. */
export class ValidationDesk {
  readonly #p: ValidationParts
  readonly #pool = new WorkerPool<ValidationTasks>({
    script: workerScript('validation-worker', import.meta.url),
  })
  #program: Promise<ProgramFacts> | undefined
  #running: Int32Array | undefined

  constructor(parts: ValidationParts) {
    this.#p = parts
  }

  /** The program as it is installed: hashed once, when somebody asks. */
  program(): Promise<ProgramFacts> {
    this.#program ??= this.#look()
    return this.#program
  }

  #look(): Promise<ProgramFacts> {
    return this.#p.installed?.() ?? installedProgram()
  }

  async state(): Promise<ValidationState> {
    const { version, fingerprint, platform } = await this.program()
    const all = this.#all()
    // Restored on another computer the same program is to be looked at again: its arithmetic is the processor's as well.
    const isOwn = (one: KeptValidation) => one.fingerprint === fingerprint && one.platform === platform
    const own = all.filter(isOwn)
    const last = own[0] ?? null
    const accepted = own.find((one) => one.accepted) ?? null
    const before = all.find((one) => one.accepted && !isOwn(one)) ?? null
    const running = this.#running && { done: Atomics.load(this.#running, 0) / 1000, words: 'It runs.' }
    return {
      version,
      fingerprint,
      running: running ?? null,
      last: last && lineOf(last),
      accepted: accepted && lineOf(accepted),
      before: before && lineOf(before),
      required: this.#p.settings().signOffNeedsValidation,
      words: wordsOf({ version, last, accepted, before }),
    }
  }

  /** Runs everything in a thread and keeps the record. Throws StationError 'refused' while a session measures. */
  async run(who: string): Promise<string> {
    const { station, store, clock } = this.#p
    if (station.session) throw new StationError('refused', said('validate-while-running', {}))
    if (this.#running) throw new StationError('refused', said('validation-runs-already', {}))
    const done = new SharedArrayBuffer(4)
    this.#running = new Int32Array(done)
    try {
      // The thread would compute with the files of now, and the station goes on with those that it was started with.
      const [running, installed] = await Promise.all([this.program(), this.#look()])
      if (running.fingerprint !== installed.fingerprint)
        throw new StationError('refused', said('program-changed-since-start', {}))
      const json = await this.#pool.ask().validate(done)
      const kept = keptOf(json, { who, utcUs: clock.now().utcUs, id: this.#freshId() })
      store.records.save(KIND, kept.id, kept, { who, why: `Validation of ${kept.version}: ${kept.verdict}` })
      station.touched('settings')
      return kept.verdict === 'passed'
        ? `Passed: ${kept.checks} checks with ${kept.figures} figures. It holds once somebody who may sign has accepted it.`
        : `Failed: ${kept.failed} of ${kept.checks} checks did not pass. Read the record before anything is signed.`
    } finally {
      this.#running = undefined
    }
  }

  /** Accepts the validation of this very program for an intended use. Throws StationError 'refused'. */
  async accept(id: string, who: string, use: string): Promise<string> {
    const { station, store, clock } = this.#p
    const kept = this.#one(id)
    const { fingerprint, platform } = await this.program()
    if (kept.verdict !== 'passed') throw new StationError('refused', said('validation-not-passed', {}))
    if (kept.fingerprint !== fingerprint || kept.platform !== platform)
      throw new StationError('refused', said('validation-of-another-program', {}))
    store.records.save(
      KIND,
      id,
      { ...kept, accepted: { who, use, utcUs: clock.now().utcUs } },
      { who, why: `Accepted for: ${use}` },
    )
    station.touched('settings')
    return `Version ${kept.version} is validated, accepted by ${who}.`
  }

  /** The record of a validation on paper, with who accepted it. */
  async paper(id: string, format: 'pdf' | 'html' | 'json'): Promise<{ data: Uint8Array; type: string }> {
    const kept = this.#one(id)
    const json = gunzipSync(Buffer.from(kept.packed, 'base64')).toString()
    if (format === 'json') return { data: Buffer.from(json), type: 'application/json' }
    const { html, pdf } = await this.#pool.ask().print(json, {
      ...(kept.accepted && { accepted: kept.accepted }),
      paper: this.#p.settings().paper,
    })
    return format === 'pdf'
      ? { data: pdf, type: 'application/pdf' }
      : { data: Buffer.from(html), type: 'text/html' }
  }

  /** What keeps a report from being signed; undefined where nothing does. */
  async refusal(): Promise<Said | undefined> {
    if (!this.#p.settings().signOffNeedsValidation) return undefined
    const { accepted, version } = await this.state()
    return accepted ? undefined : said('not-validated', { version })
  }

  async close(): Promise<void> {
    await this.#pool.close()
  }

  /** All of them, the newest first. */
  #all(): KeptValidation[] {
    return this.#p.store.records.all(KIND).toSorted((a, b) => b.utcUs - a.utcUs || b.id.localeCompare(a.id))
  }

  #one(id: string): KeptValidation {
    const kept = this.#p.store.records.one(KIND, id)
    if (!kept) throw new StationError('refused', said('no-such-validation', { id }))
    return kept
  }

  #freshId(): string {
    const n = this.#p.store.records.ids(KIND).length + 1
    return `V-${String(n).padStart(4, '0')}`
  }
}

const lineOf = ({ packed: _packed, ...line }: KeptValidation): ValidationLine => line

function keptOf(json: string, at: { who: string; utcUs: number; id: string }): KeptValidation {
  const { program, checks, verdict } = JSON.parse(json) as ValidationRecord
  return {
    ...at,
    version: program.version,
    fingerprint: program.fingerprint,
    platform: program.platform,
    verdict,
    checks: checks.length,
    figures: countFigures(checks),
    failed: checks.filter(({ passed }) => !passed).length,
    sha256: hashOfRecord(json),
    packed: gzipSync(json).toString('base64'),
  }
}

type Standing = Pick<ValidationState, 'version'> &
  Record<'last' | 'accepted' | 'before', KeptValidation | null>

function wordsOf({ version, last, accepted, before }: Standing): string {
  if (accepted?.accepted) {
    const { who, utcUs, use } = accepted.accepted
    return `Validated for version ${version} on ${utcDay(utcUs)} by ${who}, for: ${use}`
  }
  if (last?.verdict === 'failed')
    return `Version ${version} failed its validation on ${utcDay(last.utcUs)}: ${last.failed} of ${last.checks} checks. Do not use it for results until it is known why.`
  if (last)
    return `Version ${version} passed its validation on ${utcDay(last.utcUs)}. Nobody has accepted it yet.`
  if (before)
    return `The program is another than the one that was validated: version ${before.version}, accepted on ${utcDay(before.accepted!.utcUs)}. Validate version ${version} as it is installed now.`
  return `Version ${version} as it is installed here has not been validated yet.`
}
