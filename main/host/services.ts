import type { Clock } from '../../app/base/clock.ts'
import { Settings } from '../../app/contract/settings.ts'
import type { ProfileLibrary } from '../../drivers/index.ts'
import type { Lab } from '../../simulator/lab.ts'
import type { StationLog } from '../station/log.ts'
import type { Station } from '../station/station.ts'
import { SessionReader } from '../store/reader.ts'
import type { StationStore } from '../store/station-store.ts'
import { BackupDesk } from './backup-desk.ts'
import { CustodianDesk } from './custodian-desk.ts'
import { ForwardDesk } from './forward-desk.ts'
import type { HostedStation } from './open-station.ts'
import { Reports } from './reports.ts'
import { SessionDesk } from './session-desk.ts'

/** What the contract's server side works with: one for each station, shared by all windows. */
export class Services {
  readonly station: Station
  readonly store: StationStore
  readonly clock: Clock
  readonly profiles: ProfileLibrary
  readonly folder: string
  readonly sessions: SessionDesk
  readonly custodian: CustodianDesk
  /** Reads old sessions away from the loop that measures. */
  readonly reader = new SessionReader()
  /** Copies every ended session into a second folder. */
  readonly backups: BackupDesk
  readonly forward: ForwardDesk
  readonly reports: Reports
  readonly log: StationLog
  /** A lab in a box started from the window. */
  lab: Lab | undefined

  constructor(hosted: HostedStation) {
    this.station = hosted.station
    this.store = hosted.store
    this.clock = hosted.clock
    this.profiles = hosted.profiles
    this.folder = hosted.folder
    this.log = hosted.log
    this.sessions = new SessionDesk(hosted)
    this.reports = new Reports(hosted, this.sessions)
    this.custodian = new CustodianDesk(hosted.store)
    this.forward = new ForwardDesk(hosted.station, hosted.store)
    this.backups = new BackupDesk({
      ...hosted,
      reader: this.reader,
      folder: () => this.settings().backupFolder,
    })
  }

  /** What the station keeps about itself, with a nameless laboratory until somebody enters one. */
  settings(change: Partial<Settings> = {}): Settings {
    return Settings.parse({
      ...(this.store.settings() ?? { laboratory: { name: '', address: [], country: 'XX' } }),
      ...change,
    })
  }

  async close(): Promise<void> {
    this.sessions.close()
    await this.forward.close()
    await this.backups.close()
    await this.reader.close()
    await this.reports.close()
    await this.lab?.close()
  }
}
