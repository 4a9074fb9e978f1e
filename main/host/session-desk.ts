import { first } from '../../app/base/lists.ts'
import { utcDay } from '../../app/base/times.ts'
import { buildChains, type Chain } from '../../app/live/chain.ts'
import { eventOf, type ToTell } from '../../app/messages/said.ts'
import type { NewSessionEvent, SessionSetup } from '../../app/records/session.ts'
import { openForWriting } from '../store/open-for-writing.ts'
import { openSessionFile, type SessionFile } from '../store/session-file.ts'
import type { HostedStation } from './open-station.ts'

/** Read handles kept open at once. */
const MOST_OPEN = 6

interface Reading {
  file: SessionFile
  used: number
}

/** Sessions by id, for reading beside a running one, and for the few acts that may follow a session's end. */
export class SessionDesk {
  readonly #hosted: HostedStation
  readonly #open = new Map<string, Reading>()
  #uses = 0

  constructor(hosted: HostedStation) {
    this.#hosted = hosted
  }

  /** A handle for reading; throws StoreError 'not-found' | 'damaged' | 'newer'. */
  read(id: string): SessionFile {
    const found = this.#open.get(id)
    if (found) {
      found.used = ++this.#uses
      return found.file
    }
    const file = openSessionFile(this.#hosted.store.sessionPath(id), { mode: 'read' })
    this.#open.set(id, { file, used: ++this.#uses })
    if (this.#open.size > MOST_OPEN) {
      const [oldest, { file: unused }] = first([...this.#open].sort(([, a], [, b]) => a.used - b.used))
      this.#open.delete(oldest)
      unused.close()
    }
    return file
  }

  /** Closes what is open of a session: its file is about to be replaced. */
  letGo(id: string): void {
    this.#open.get(id)?.file.close()
    this.#open.delete(id)
  }

  /** Adds events to a session: through its own recorder while it runs, else by opening it for the moment. */
  addEvents(id: string, events: readonly ToTell<NewSessionEvent['kind']>[]): void {
    const running = this.#hosted.station.session
    if (running?.info.id === id) {
      running.recorder.commit({ events: events.map((event) => running.recorder.event(event)) })
      return
    }
    this.write(id, (file) => {
      const { utcUs } = this.#hosted.clock.now()
      const last = file.events().at(-1)
      const monoUs = Math.max(last?.monoUs ?? 0, utcUs - file.info.startedUtcUs)
      file.commit({ events: events.map((event) => ({ ...eventOf(event), utcUs, monoUs })) })
    })
  }

  /** Opens an ended session for one act, and files it anew in the list. */
  write<T>(id: string, act: (file: SessionFile) => T): T {
    const { store, clock } = this.#hosted
    const file = openForWriting(store.sessionPath(id), clock)
    try {
      const result = act(file)
      store.registerSession(file)
      return result
    } finally {
      file.close()
    }
  }

  /** The chains of a session, with the register of then or as it is now. */
  chains(id: string, register?: SessionSetup['register']): ReadonlyMap<string, Chain> {
    const { setup, info } = this.read(id)
    const date = utcDay(info.startedUtcUs)
    return buildChains({ bench: setup.bench, register: register ?? setup.register, date })
  }

  close(): void {
    for (const { file } of this.#open.values()) file.close()
    this.#open.clear()
  }
}
