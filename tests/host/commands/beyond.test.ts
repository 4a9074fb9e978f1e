import { fileURLToPath } from 'node:url'
import { expect, it } from 'vitest'
import { readBeyond } from '../../../main/host/commands/beyond.ts'

/** A file that holds no key. */
const file = fileURLToPath(import.meta.url)

/** All that is asked for, with files that hold no key. */
const WHOLE = { listen: '127.0.0.1', listenPort: 0, name: ['station.example'], tlsKey: file, tlsCert: file }

it.each([
  [
    { listen: '127.0.0.1:8753' },
    /without a port, .* not "127\.0\.0\.1:8753"\. The port goes to --listen-port/,
  ],
  [{ listen: 'station.example' }, /an address of this computer/],
  [{ name: [] }, /--listen needs --name, --tls-key and --tls-cert/],
  [{ name: ['https://station.example'] }, /--name takes host names without scheme and port/],
  [{ tlsKey: `${file}.nowhere.pem` }, /--tls-key: .*nowhere\.pem cannot be read/],
  [{}, /not a private key and its certificate in PEM/],
])(
  'others are let in by what is whole alone, and %j is refused before anything is held',
  async (change, words) => {
    await expect(readBeyond({ ...WHOLE, ...change })).rejects.toThrow(words)
  },
)

it('lets nobody else in where it is not asked to, and says what is of no use then', async () => {
  expect(await readBeyond({ listenPort: 8121, name: [] })).toBeUndefined()
  await expect(readBeyond({ listenPort: 8121, name: [], tlsKey: file })).rejects.toThrow(
    '--tls-key is of no use without --listen.',
  )
})
