import { randomBytes, type ScryptOptions, scrypt, timingSafeEqual } from 'node:crypto'

/** Cost of one try at a password: about 100 ms and 64 MB of a helper thread. Common practice, no source. */
const COST: ScryptOptions = { N: 2 ** 16, r: 8, p: 1, maxmem: 128 * 1024 * 1024 }
const BYTES = 32
/** How the hash was made; another cost gets another name. */
const FORM = 'scrypt 16 8 1'

/** What is kept of a password. */
export interface Hashed {
  form: string
  salt: Buffer
  hash: Buffer
}

/** Worked out in a thread of Node's own, never on the loop that measures. */
const hashOf = (password: string, salt: Buffer): Promise<Buffer> =>
  new Promise((resolve, reject) =>
    scrypt(password.normalize('NFC'), salt, BYTES, COST, (fault, hash) =>
      fault ? reject(fault) : resolve(hash),
    ),
  )

export async function hashPassword(password: string): Promise<Hashed> {
  const salt = randomBytes(16)
  return { form: FORM, salt, hash: await hashOf(password, salt) }
}

/** The hash is worked out in any case, so that the time taken does not tell whether there is one to compare with. */
export async function isPassword(password: string, kept: Hashed | undefined): Promise<boolean> {
  const tried = await hashOf(password, kept?.salt ?? Buffer.alloc(16))
  return kept !== undefined && kept.form === FORM && timingSafeEqual(tried, kept.hash)
}
