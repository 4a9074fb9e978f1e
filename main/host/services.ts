import type { Clock } from '../../app/base/clock.ts'
import { Settings } from '../../app/contract/settings.ts'
import type { Lab } from '../../simulator/lab.ts'
import type { StationLog } from '../station/log.ts'
import type { Station } from '../station/station.ts'
import { SessionReader } from '../store/reader.ts'
import type { StationStore } from '../store/station-store.ts'
import { Replays } from '../study/replays.ts'
import { readBudgetTemplates } from '../study/report/budget-folder.ts'
import { signedSettings } from '../study/report/signed-settings.ts'
import { type ReportGround, Reports } from '../study/reports.ts'
import { TokenDesk } from './api/token-desk.ts'
import { BackupDesk } from './backup-desk.ts'
import { ChecksDesk } from './checks-desk.ts'
import { ForwardDesk } from './forward-desk.ts'
import { Gate } from './gate/gate.ts'
import { HeavyWork } from './gate/heavy-work.ts'
import { LaboratoryDesk } from './laboratory/laboratory-desk.ts'
import type { HostedStation } from './open-station.ts'
import { OrderDesk } from './orders/order-desk.ts'
import { PeopleDesk } from './people/people-desk.ts'
import { PracticeStation } from './practice-station.ts'
import { Previews, previewGround } from './previews.ts'
import type { ProfileShelf } from './profile-shelf.ts'
import { SessionDesk } from './session-desk.ts'
import { SigningDesk } from './signing-desk.ts'
import { ValidationDesk } from './validation/validation-desk.ts'

/** What the contract's server side works with: one for each station, shared by all windows. */
export class Services {
  readonly station: Station
  readonly store: StationStore
  readonly clock: Clock
  readonly profiles: ProfileShelf
  readonly folder: string
  readonly sessions: SessionDesk
  readonly people: PeopleDesk
  /** Reads old sessions away from the loop that measures. */
  readonly reader = new SessionReader()
  /** Copies every ended session into a second folder. */
  readonly backups: BackupDesk
  readonly forward: ForwardDesk
  readonly orders: OrderDesk
  /** This bench among the others of its laboratory. */
  readonly laboratory: LaboratoryDesk
  readonly reports: Reports
  /** Tokens of other programs. */
  readonly tokens: TokenDesk
  /** The laboratory's signing key. */
  readonly signing: SigningDesk
  readonly previews: Previews
  /** How this program is known to compute right. */
  readonly validation: ValidationDesk
  readonly replays = new Replays()
  /** What check thermometers were found to deviate by. */
  readonly checks: ChecksDesk
  readonly log: StationLog
  /** What all windows go through. */
  readonly gate: Gate
  /** The queue before reports and comparisons. */
  readonly heavy = new HeavyWork()
  /** The queue before fits, previews and charts. */
  readonly quick = new HeavyWork()
  /** A station to practise on, beside this one. */
  readonly practice = new PracticeStation()
  /** A lab in a box started from the window. */
  lab: Lab | undefined

  constructor(hosted: HostedStation) {
    this.station = hosted.station
    this.store = hosted.store
    this.clock = hosted.clock
    this.profiles = hosted.profiles
    this.folder = hosted.folder
    this.log = hosted.log
    this.gate = new Gate(hosted.log)
    this.sessions = new SessionDesk(hosted)
    this.reports = new Reports(reportGround(hosted, this.sessions))
    this.previews = new Previews(() => previewGround(hosted.store, hosted.folder))
    this.checks = new ChecksDesk({ ...hosted, reports: this.reports })
    this.people = new PeopleDesk(hosted.store)
    this.orders = new OrderDesk(hosted.store)
    this.tokens = new TokenDesk(hosted.store, hosted.clock)
    this.signing = new SigningDesk(hosted.store, hosted.clock)
    this.validation = new ValidationDesk({ ...hosted, settings: () => this.settings() })
    this.forward = new ForwardDesk(hosted.station, hosted.store)
    this.laboratory = new LaboratoryDesk({
      ...hosted,
      reader: this.reader,
      letGo: (session) => this.sessions.letGo(session),
    })
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
    this.practice.close()
    // Side by side: a station that is told to end has two seconds.
    await Promise.all([
      this.forward.close(),
      this.laboratory.close(),
      this.backups.close(),
      this.checks.close(),
      this.reader.close(),
      this.reports.close(),
      this.previews.close(),
      this.validation.close(),
      this.replays.close(),
    ])
    await this.lab?.close()
  }
}

/** What a report has to know of this station: the session's file, and the laboratory's choices. */
function reportGround({ store, station, folder }: HostedStation, sessions: SessionDesk): ReportGround {
  return {
    folder,
    path: (session) => store.sessionPath(session),
    register: (session) => store.registerLike(sessions.read(session).setup.register),
    of: (session) => {
      const file = sessions.read(session)
      const settings = store.settings()
      // While a session measures its fits are shown without drawn distributions: they are asked for at every point.
      const running = station.session?.info.id === session
      return {
        version: `${file.points().length} ${file.events().at(-1)?.n ?? 0}`,
        options: {
          templates: readBudgetTemplates(folder),
          ...(running && { monteCarloTrials: 0 }),
          ...(settings && {
            coverageProbability: settings.coverageProbability,
            interpolationStepK: settings.interpolationStepK,
          }),
          // What was signed is printed as it was signed, whatever the settings say now.
          ...signedSettings(file),
        },
        decimalSign: settings?.decimalSign ?? '.',
      }
    },
  }
}
