import { readFile } from 'node:fs/promises'
import { isIP } from 'node:net'
import { createSecureContext } from 'node:tls'
import { WrongOption } from '../options.ts'
import type { Beyond } from '../page/server.ts'

export interface BeyondOptions {
  listen?: string
  listenPort: number
  name: string[]
  tlsKey?: string
  tlsCert?: string
}

/** What is needed to let others in, read and tried before anything is held. Throws WrongOption. */
export async function readBeyond(options: BeyondOptions): Promise<Omit<Beyond, 'signIn'> | undefined> {
  const { listen, tlsKey, tlsCert, name } = options
  if (listen === undefined) {
    const given = [tlsKey && '--tls-key', tlsCert && '--tls-cert', name.length > 0 && '--name'].find(Boolean)
    if (given) throw new WrongOption(`${given} is of no use without --listen.`)
    return undefined
  }
  if (!tlsKey || !tlsCert || name.length === 0)
    throw new WrongOption('--listen needs --name, --tls-key and --tls-cert as well.')
  if (isIP(listen) === 0)
    throw new WrongOption(
      `--listen takes an address of this computer without a port, such as 192.0.2.7 or 0.0.0.0, not "${listen}". The port goes to --listen-port.`,
    )
  for (const host of name)
    if (!/^[A-Za-z0-9]([A-Za-z0-9.-]{0,250}[A-Za-z0-9])?$/.test(host))
      throw new WrongOption(
        `--name takes host names without scheme and port, such as station.example, not "${host}".`,
      )
  const [key, certificate] = await Promise.all([read('--tls-key', tlsKey), read('--tls-cert', tlsCert)])
  try {
    createSecureContext({ key, cert: certificate })
  } catch (fault) {
    throw new WrongOption(
      `${tlsKey} and ${tlsCert} are not a private key and its certificate in PEM: ${(fault as Error).message}`,
    )
  }
  return { address: listen, names: name, key, certificate }
}

async function read(option: string, file: string): Promise<Buffer> {
  try {
    return await readFile(file)
  } catch (fault) {
    throw new WrongOption(`${option}: ${file} cannot be read (${(fault as NodeJS.ErrnoException).code}).`)
  }
}
