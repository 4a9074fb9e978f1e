import type { Right } from '../records/person.ts'
import type { Contract } from './index.ts'

/**
 * What a window must be to make a call: any that looks on; a window of one who works here, signed in or not; one that
 * somebody has signed in at; or one whose person has this right.
 */
export type Need = 'look' | 'window' | 'person' | Right

/** Name of a call: 'points.signOff'. */
export type CallName = {
  [Part in keyof Contract & string]: `${Part}.${keyof Contract[Part] & string}`
}[keyof Contract & string]

/** Of every call, what it needs. The compiler insists that none is forgotten. */
export const NEEDS: Readonly<Record<CallName, Need>> = {
  'station.watch': 'look',
  'station.state': 'look',
  'station.support': 'administer',
  'station.pace': 'operate',
  'station.practice': 'window',
  'live.next': 'look',
  'history.overview': 'look',
  'history.readings': 'look',
  'history.statistics': 'look',
  'history.events': 'look',

  'bench.get': 'look',
  'bench.list': 'look',
  'bench.profiles': 'look',
  'bench.ports': 'window',
  'bench.adviseResistor': 'window',
  'bench.save': 'operate',
  'bench.choose': 'operate',
  'bench.tryInstrument': 'operate',
  'bench.connect': 'operate',
  'bench.look': 'operate',
  'bench.disconnect': 'operate',
  'bench.startLab': 'operate',
  'bench.findHosts': 'operate',

  'plan.list': 'look',
  'plan.preview': 'look',
  'plan.foretell': 'look',
  'plan.save': 'operate',
  'plan.remove': 'operate',

  'run.start': 'operate',
  'run.record': 'operate',
  'run.pause': 'operate',
  'run.resume': 'operate',
  'run.takeNow': 'operate',
  'run.skip': 'operate',
  'run.stop': 'operate',
  'run.answer': 'operate',
  'run.note': 'operate',

  'points.list': 'look',
  'points.fits': 'look',
  'points.report': 'look',
  'points.reportHtml': 'look',
  'points.reportPdf': 'look',
  'points.certificates': 'look',
  'points.certificatePdf': 'look',
  'points.certificateXml': 'look',
  'points.thread': 'look',
  'points.signOffHolds': 'window',
  'points.signOff': 'authorise',
  'points.leaveOut': 'operate',

  'orders.list': 'look',
  'orders.get': 'look',
  'orders.customers': 'look',
  'orders.fill': 'look',
  'orders.receipt': 'look',
  'orders.exportCsv': 'look',
  'orders.parcels': 'look',
  'orders.changedCustomers': 'look',
  'orders.deliver': 'operate',
  'orders.save': 'operate',
  'orders.move': 'operate',
  'orders.saveCustomer': 'operate',
  'orders.prepare': 'operate',
  'orders.importCsv': 'operate',

  'drafts.get': 'window',
  'drafts.put': 'window',
  'drafts.drop': 'window',

  'archive.sessions': 'look',
  'archive.open': 'look',
  'archive.verify': 'look',
  'archive.compare': 'look',
  'archive.replay': 'look',
  'archive.export': 'window',
  'archive.lookAtTable': 'window',
  'archive.annotate': 'operate',
  'archive.backup': 'operate',
  'archive.backupAll': 'operate',
  'archive.restoreBackup': 'administer',
  'archive.importTable': 'operate',
  'archive.takeRecordsOfNow': 'keep-records',

  'register.list': 'look',
  'register.some': 'look',
  'register.ledgerEntry': 'look',
  'register.dueDates': 'look',
  'register.ledger': 'look',
  'register.checkThermometer': 'window',
  'register.exportFile': 'window',
  'register.saveThermometer': 'keep-records',
  'register.saveResistor': 'keep-records',
  'register.saveInstrument': 'keep-records',
  'register.saveFluid': 'keep-records',
  'register.saveCell': 'keep-records',
  'register.restore': 'keep-records',
  'register.retire': 'keep-records',
  'register.bringBack': 'keep-records',
  'register.importFile': 'keep-records',
  'register.lookAtCertificate': 'keep-records',
  'register.takeCertificate': 'keep-records',

  'checks.charted': 'look',
  'checks.history': 'look',
  'checks.measuredWtp': 'look',
  'checks.plateau': 'look',
  'checks.life': 'look',
  'checks.certificate': 'look',
  'checks.certificateHolds': 'look',
  'checks.signCertificate': 'authorise',
  'checks.practise': 'operate',
  'checks.takeWtp': 'keep-records',
  'checks.enterCalibration': 'keep-records',
  'checks.record': 'keep-records',

  'wire.traffic': 'window',
  'wire.converse': 'operate',

  'alarms.list': 'look',
  'alarms.rules': 'look',
  'alarms.acknowledge': 'operate',
  'alarms.saveRules': 'administer',

  'settings.get': 'look',
  'settings.forwarding': 'look',
  'settings.save': 'administer',

  'laboratory.benches': 'look',
  'laboratory.undecided': 'window',
  'laboratory.decide': 'keep-records',

  'people.me': 'look',
  'people.comeBack': 'look',
  'people.enterFirst': 'window',
  'people.signIn': 'window',
  'people.signOut': 'window',
  'people.changePassword': 'person',
  'people.list': 'administer',
  'people.save': 'administer',

  'validation.state': 'look',
  'validation.run': 'administer',
  'validation.accept': 'authorise',
  'validation.paper': 'look',

  'tokens.list': 'administer',
  'tokens.make': 'administer',
  'tokens.revoke': 'administer',
}
