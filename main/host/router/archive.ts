import { mkdtempSync } from 'node:fs'
import { readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { said } from '../../../app/messages/said.ts'
import { lookAtTable } from '../../store/import/look.ts'
import { recordsOfNow } from '../../study/records-of-session.ts'
import { sketchOf } from '../../study/session-sketch.ts'
import { exportOf } from '../export-session.ts'
import { importTable } from '../import-table.ts'
import { blob, isOnlooker, nameOf, os } from './base.ts'
import { benchForOnlookers, stateForOnlookers } from './onlookers.ts'

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
      { kind: 'note', who: nameOf(context), said: said('note', { words: input.words }) },
    ])
    context.services.station.touched('sessions')
    return { words: 'The note is in the record.' }
  }),

  takeRecordsOfNow: os.archive.takeRecordsOfNow.handler(async ({ context, input }) => {
    // Brings the whole analysis, which the process that measures does without until then.
    const { takeRecordsOfNow } = await import('../../study/amend-session.ts')
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
    const { sessions, store, replays } = context.services
    const { setup } = sessions.read(input.session)
    const { speed, fromUtcUs } = input
    const now =
      input.coefficients === 'now' ? recordsOfNow(setup.register, store.registerLike(setup.register)) : null
    const frames = replays.of(
      store.sessionPath(input.session),
      { speed, ...(now && { register: now.register }), ...(fromUtcUs !== undefined && { fromUtcUs }) },
      signal,
    )
    for await (const state of frames)
      yield isOnlooker(context) ? stateForOnlookers(state, setup.bench) : state
  }),
}
