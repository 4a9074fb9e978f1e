/** Calls that last until they are ended. */
export const STREAMS: ReadonlySet<string> = new Set(['station.watch', 'wire.traffic', 'archive.replay'])

/** Calls worked out in a thread while a person looks at the place they are for: never behind the long ones. */
export const QUICK: ReadonlySet<string> = new Set([
  'plan.preview',
  'plan.foretell',
  'points.fits',
  'checks.plateau',
  'checks.history',
])

/** Calls worked out at length in a thread: they wait for their turn. */
export const HEAVY: ReadonlySet<string> = new Set([
  'points.report',
  'points.reportHtml',
  'points.reportPdf',
  'points.reportXml',
  'points.signOff',
  'register.lookAtCertificate',
  'register.takeCertificate',
  'orders.parcels',
  'orders.deliver',
  'archive.verify',
  'archive.compare',
  'archive.export',
  'archive.backup',
  'archive.backupAll',
  'archive.restoreBackup',
  'archive.importTable',
  'checks.practise',
])
