import { counted } from '../../../app/base/plural.ts'
import { daysBetween, utcDay } from '../../../app/base/times.ts'
import { checkThermometer } from '../../../app/checks/register-check.ts'
import { asTold, said } from '../../../app/messages/said.ts'
import { dueLineWords, dueName } from '../../../app/records/due.ts'
import { DUE_KINDS } from '../../../app/records/record-kinds.ts'
import type { Thermometer } from '../../../app/records/register.ts'
import { saveRead } from '../../store/register-file.ts'
import { restoreEntry } from '../restore-entry.ts'
import { entriesOf, takeCertificate } from '../take-certificate.ts'
import { blob, isOnlooker, nameOf, needRight, notFound, os, refused } from './base.ts'
import { entryForOnlookers, settingsForOnlookers } from './onlookers.ts'

export const registerRoutes = {
  list: os.register.list.handler(({ context: { services }, input, signal }) =>
    services.reader.lists(signal).records(services.folder, input),
  ),
  some: os.register.some.handler(({ context: { services }, input }) => services.store.registerOf(input)),
  retire: os.register.retire.handler(({ context, input: { kind, id, why } }) => {
    const { services } = context
    // People are closed by who sees to the station, never taken out of a list.
    if (kind === 'person') needRight(context, 'administer')
    services.store.records.retire(kind, id, { who: nameOf(context), why })
    services.station.touched('register')
    return { words: 'It is out of the lists. Sessions and the ledger keep it, and it can be brought back.' }
  }),
  bringBack: os.register.bringBack.handler(({ context, input: { kind, id, why } }) => {
    const { services } = context
    // People are closed by who sees to the station, never taken out of a list.
    if (kind === 'person') needRight(context, 'administer')
    services.store.records.bringBack(kind, id, { who: nameOf(context), why })
    services.station.touched('register')
    return { words: 'It is back in the lists.' }
  }),

  saveThermometer: os.register.saveThermometer.handler(({ context, input }) => {
    const { services } = context
    const who = nameOf(context)
    const wrong = checkThermometer(input.entry).find(({ severity }) => severity === 'error')
    if (wrong) refused(asTold(wrong.words))
    services.store.saveThermometer(input.entry as Thermometer, who, input.why)
    services.station.touched('register')
    return { words: `${input.entry.name} is stored. Sessions keep the entries they were made with.` }
  }),
  saveResistor: os.register.saveResistor.handler(({ context, input }) => {
    const { services } = context
    services.store.saveResistor(input.entry, nameOf(context), input.why)
    services.station.touched('register')
    return { words: `${input.entry.name} is stored.` }
  }),
  saveInstrument: os.register.saveInstrument.handler(({ context, input }) => {
    const { services } = context
    services.store.saveInstrument(input.entry, nameOf(context), input.why)
    services.station.touched('register')
    return { words: `${input.entry.name} is stored.` }
  }),
  saveFluid: os.register.saveFluid.handler(({ context, input }) => {
    const { services } = context
    services.store.saveFluid(input.entry, nameOf(context), input.why)
    services.station.touched('register')
    return { words: `${input.entry.name} is stored. Setpoints are held to its limits.` }
  }),

  saveCell: os.register.saveCell.handler(({ context, input }) => {
    const { services } = context
    services.store.saveCell(input.entry, nameOf(context), input.why)
    services.station.touched('register')
    return { words: `${input.entry.name} is stored. Plateaus taken in it carry its uncertainty.` }
  }),

  saveBath: os.register.saveBath.handler(({ context, input }) => {
    const { services } = context
    services.store.saveBath(input.entry, nameOf(context), input.why)
    services.station.touched('register')
    return { words: `${input.entry.name} is stored. Sessions keep the surveys they were made with.` }
  }),

  restore: os.register.restore.handler(({ context, input }) => {
    const { services } = context
    const who = nameOf(context)
    const words = restoreEntry(services.store, input.ledger, { who, why: input.why })
    services.station.touched('register')
    return { words }
  }),

  checkThermometer: os.register.checkThermometer.handler(({ input }) => checkThermometer(input.entry)),

  dueDates: os.register.dueDates.handler(async ({ context: { services }, input, signal }) => {
    const today = utcDay(services.clock.now().utcUs)
    const asked = { ...input, kinds: DUE_KINDS, due: true, sort: 'due' } as const
    const { total, rows } = await services.reader.lists(signal).records(services.folder, asked)
    return {
      total,
      rows: rows.map((line) => ({
        entry: line.id,
        name: dueName(line),
        due: line.due!,
        days: daysBetween(today, line.due!),
        words: dueLineWords(line, today),
      })),
    }
  }),

  ledger: os.register.ledger.handler(({ context: { services }, input, signal }) =>
    services.reader.lists(signal).ledger(services.folder, input),
  ),
  ledgerEntry: os.register.ledgerEntry.handler(({ context, input }) => {
    const entry =
      context.services.store.ledgerEntry(input.n) ?? notFound(said('no-such-ledger-entry', { n: input.n }))
    return isOnlooker(context) ? entryForOnlookers(entry) : entry
  }),

  importFile: os.register.importFile.handler(async ({ context, input }) => {
    const { services } = context
    const who = nameOf(context)
    const bytes = new Uint8Array(await input.file.arrayBuffer())
    const entries = await services.reader.long().readRegister(bytes)
    await saveRead(services.store, entries, { who, why: input.why })
    services.station.touched('register')
    return { words: `${counted(entries.length, 'entry was', 'entries were')} taken in.` }
  }),

  lookAtCertificate: os.register.lookAtCertificate.handler(
    async ({ context: { services }, input, signal }) => {
      const { store, reports, clock } = services
      const bytes = new TextEncoder().encode(input.text)
      const looked = await reports.ask(signal).lookAtCertificate(bytes, clock.now().utcUs)
      const { reading, signature, broken } = looked
      const { schemaVersion, number, date, laboratory, item, values, unread } = reading
      return {
        ...{ schemaVersion, number, date, laboratory, signature, broken },
        item: { ...item },
        values: values.map((value) => ({ ...value })),
        unread: [...unread],
        entries: entriesOf(store, reading).map(({ id, name }) => ({ id, name })),
      }
    },
  ),
  takeCertificate: os.register.takeCertificate.handler(async ({ context, input: { text, to, why } }) => {
    const { services } = context
    const act = { who: nameOf(context), why }
    const bytes = new TextEncoder().encode(text)
    const looked = await services.reports.ask().lookAtCertificate(bytes, services.clock.now().utcUs)
    const words = await takeCertificate(services.store, bytes, looked, to, act)
    services.station.touched('register')
    return { words }
  }),
  exportFile: os.register.exportFile.handler(async ({ context: { services }, input, signal }) => {
    const today = utcDay(services.clock.now().utcUs)
    return blob(
      await services.reader.long(signal).registerFile(services.folder, input.format, today),
      input.format === 'json' ? 'application/json' : 'text/csv',
    )
  }),
}

export const settingsRoutes = {
  get: os.settings.get.handler(({ context }) => {
    const settings = context.services.settings()
    return isOnlooker(context) ? settingsForOnlookers(settings) : settings
  }),
  save: os.settings.save.handler(({ context, input }) => {
    context.services.store.saveSettings(input.settings, nameOf(context))
    context.services.station.touched('settings')
    return { words: 'The settings are stored.' }
  }),
  forwarding: os.settings.forwarding.handler(({ context }) => context.services.forward.states),
}
