import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'
import type { Clock } from '../../../app/base/clock.ts'
import { utcDay } from '../../../app/base/times.ts'
import type { TokenLine } from '../../../app/contract/calls-tokens.ts'
import { said } from '../../../app/messages/said.ts'
import type { ApiToken, TokenRight } from '../../../app/records/api-token.ts'
import { StationError } from '../../station/station-error.ts'
import type { StationStore } from '../../store/station-store.ts'

const KIND = 'api-token'
/** By which a token that has been left somewhere is known for what it is. */
const MARK = 'sp1_'
const MOST_TOKENS = 200

const digest = (text: string) => createHash('sha256').update(text).digest()

/** Tokens of other programs: random, shown once, kept as hashes; made and revoked under somebody's name. */
export class TokenDesk {
  readonly #store: StationStore
  readonly #clock: Clock

  constructor(store: StationStore, clock: Clock) {
    this.#store = store
    this.#clock = clock
  }

  list(): TokenLine[] {
    return this.#all().map(({ sha256: _sha256, ...line }) => line)
  }

  /** A new token, which is told here and never again. Throws StationError 'refused' where there are too many. */
  make(wanted: { name: string; rights: TokenRight[]; ends?: string | undefined }, who: string): string {
    const { records } = this.#store
    const known = records.ids(KIND).length
    if (known >= MOST_TOKENS) throw new StationError('refused', said('too-many-tokens', { known }))
    const token = MARK + randomBytes(32).toString('base64url')
    const { utcUs } = this.#clock.now()
    const made: ApiToken = {
      id: `T-${String(known + 1).padStart(3, '0')}`,
      name: wanted.name,
      rights: [...new Set(wanted.rights)],
      sha256: digest(token).toString('hex'),
      made: { who, utcUs },
      ...(wanted.ends && { ends: wanted.ends }),
    }
    records.save(KIND, made.id, made, { who, why: `Token for ${made.name}: ${made.rights.join(', ')}` })
    return token
  }

  /** Throws StationError 'refused' where there is no such token. */
  revoke(id: string, who: string, why: string): void {
    const { records } = this.#store
    const token = records.one(KIND, id)
    if (!token) throw new StationError('refused', said('no-such-token', { id }))
    const revoked = { who, utcUs: this.#clock.now().utcUs }
    records.save(
      KIND,
      id,
      { ...token, revoked: token.revoked ?? revoked },
      { who, why: why || 'Token revoked.' },
    )
  }

  /** Whose token this is; undefined where it is none, was revoked, or has ended. */
  holder(shown: string): ApiToken | undefined {
    if (!shown.startsWith(MARK)) return undefined
    const given = digest(shown)
    const found = this.#all().find(({ sha256 }) => timingSafeEqual(Buffer.from(sha256, 'hex'), given))
    if (!found || found.revoked) return undefined
    const today = utcDay(this.#clock.now().utcUs)
    return found.ends !== undefined && found.ends < today ? undefined : found
  }

  #all(): ApiToken[] {
    return this.#store.records.all(KIND)
  }
}
