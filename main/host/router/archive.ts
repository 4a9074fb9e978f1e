import { mkdtempSync } from 'node:fs'
import { readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { lookAtTable } from '../../store/import/look.ts'
import { takeRecordsOfNow } from '../../study/amend-session.ts'
import { recordsOfNow } from '../../study/compare-results.ts'
import { Replayer } from '../../study/replayer.ts'
import { sketchOf } from '../../study/session-sketch.ts'
import { exportOf } from '../export-session.ts'
import { importTable } from '../import-table.ts'
import { blob, isOnlooker, nameOf, os } from './base.ts'
import { benchForOnlookers } from './onlookers.ts'

const FRAME_MS = 100
const SEND_MS = 250
/** Most time of the measuring loop that one frame of a replay takes, ms, looked at after each slice of the session. */
const BUDGET_MS = 25
const SLICE_US = 10e6
const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

export const archiveRoutes = {
  sessions: os.archive.sessions.handler(async ({ context: { services }, input, signal }) => {
    const { station, sessions, reader, folder } = services
    const { total, rows } = await reader.lists(signal).sessions(folder, input)
    const running = station.session
    return {
      total,
      rows: rows.map((row) => {
        if (row.info.id !== running?.info.id) return row
        // The list is filed anew when a session ends; of the one that runs the file itself tells.
        const file = sessions.read(row.info.id)
        const { stored: readings } = running.recorder
        return { ...row, readings, points: running.points, channels: file.channels, sketch: sketchOf(file) }
      }),
    }
  }),

  open: os.archive.open.handler(({ context, input }) => {
    const { sessions, backups } = context.services
    const { info, setup, readingCount: readings, lastUtcUs } = sessions.read(input.session)
    const seen = isOnlooker(context) ? { ...setup, bench: benchForOnlookers(setup.bench) } : setup
    return { info, setup: seen, readings, lastUtcUs, copiedUtcUs: backups.copiedUtcUs(input.session) }
  }),

  verify: os.archive.verify.handler(({ context, input, signal }) => {
    const { store, reader } = context.services
    return reader
      .long(signal)
      .verify(store.sessionPath(input.session), { anchors: store.anchors(input.session) })
  }),

  compare: os.archive.compare.handler(({ context, input, signal }) => {
    const { reports } = context.services
    return input.with === 'now'
      ? reports.ask(signal).compareWithNow(input.session)
      : reports.ask(signal).compareSessions(input.session, input.with.session)
  }),

  annotate: os.archive.annotate.handler(({ context, input }) => {
    context.services.sessions.addEvents(input.session, [
      { kind: 'note', who: nameOf(context), subject: null, words: input.words, data: {} },
    ])
    context.services.station.touched('sessions')
    return { words: 'The note is in the record.' }
  }),

  takeRecordsOfNow: os.archive.takeRecordsOfNow.handler(({ context, input }) => {
    const { services } = context
    const { session, why } = input
    const who = nameOf(context)
    const words = takeRecordsOfNow(services.store, services.sessions.read(session), { who, why }, (event) =>
      services.sessions.addEvents(session, [event]),
    )
    services.station.touched('sessions')
    services.station.touched('points')
    return { words }
  }),

  export: os.archive.export.handler(async ({ context, input }) => {
    const folder = mkdtempSync(join(tmpdir(), 'stillpoint-export-'))
    try {
      const file = await exportOf(context.services, input.session, input.format, folder)
      return blob(new Uint8Array(await readFile(file)))
    } finally {
      await rm(folder, { recursive: true, force: true })
    }
  }),

  backup: os.archive.backup.handler(async ({ context, input }) => ({
    words: await context.services.backups.copy(input.session),
  })),

  backupAll: os.archive.backupAll.handler(async ({ context }) => ({
    words: await context.services.backups.copyAll(),
  })),

  restoreBackup: os.archive.restoreBackup.handler(async ({ context, input }) => ({
    words: await context.services.backups.restore(input.from, input.to),
  })),

  lookAtTable: os.archive.lookAtTable.handler(({ input }) => lookAtTable(input.beginning)),

  importTable: os.archive.importTable.handler(async ({ context, input: { table, ...input }, signal }) =>
    importTable(
      context.services,
      { ...input, operator: nameOf(context), bytes: new Uint8Array(await table.arrayBuffer()) },
      signal,
    ),
  ),

  replay: os.archive.replay.handler(async function* ({ context, input, signal }) {
    const { sessions, store } = context.services
    const file = sessions.read(input.session)
    const register =
      input.coefficients === 'now'
        ? recordsOfNow(file.setup.register, store.registerLike(file.setup.register)).register
        : undefined
    const replayer = new Replayer(file, {
      ...(register && { register }),
      ...(input.fromUtcUs !== undefined && { fromUtcUs: input.fromUtcUs }),
    })
    let sent = Number.NEGATIVE_INFINITY
    let before = performance.now()
    while (!signal?.aborted) {
      const now = performance.now()
      // Whole microseconds, as every time in the contract.
      const until = replayer.nowUs + Math.round((now - before) * 1000 * input.speed)
      // A fast replay takes what a frame may take and falls behind its speed rather than hold up a measurement.
      do replayer.advance(Math.min(until, replayer.nowUs + SLICE_US))
      while (replayer.nowUs < until && !replayer.done && performance.now() - now < BUDGET_MS)
      before = now
      if (now - sent >= SEND_MS || replayer.done) {
        yield replayer.state()
        sent = now
      }
      if (replayer.done) return
      await pause(FRAME_MS)
    }
  }),
}
