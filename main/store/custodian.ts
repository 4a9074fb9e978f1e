import { randomBytes, scryptSync, timingSafeEqual } from 'node:crypto'
import type { Db } from './sqlite.ts'

/** Cost of one try at the password: about 100 ms and 64 MB. Common practice, no source. */
const SCRYPT = { N: 2 ** 16, r: 8, p: 1, maxmem: 128 * 1024 * 1024 }
const BYTES = 32

const hashOf = (password: string, salt: Buffer) => scryptSync(password.normalize('NFC'), salt, BYTES, SCRYPT)

/** The person who keeps the register. One per station; only a salted hash of the password is kept. */
export function setCustodian(db: Db, name: string, password: string): void {
  const salt = randomBytes(16)
  db.prepare('INSERT OR REPLACE INTO custodian VALUES (1, ?, ?, ?)').run(name, salt, hashOf(password, salt))
}

export function custodianName(db: Db): string | undefined {
  const name = db.prepare('SELECT name FROM custodian').pluck().get()
  return typeof name === 'string' ? name : undefined
}

export function checkCustodian(db: Db, name: string, password: string): boolean {
  const row = db.prepare('SELECT name, salt, hash FROM custodian').get() as
    | { name: string; salt: Buffer; hash: Buffer }
    | undefined
  // The hash is worked out in any case, so that the time taken does not tell whether the name was right.
  const tried = hashOf(password, row?.salt ?? Buffer.alloc(16))
  return row !== undefined && row.name === name && timingSafeEqual(tried, row.hash)
}
