import { execFileSync } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import path from 'node:path'

/** A stamping service on loopback that answers what it is told to. */
export async function stampService(
  answer: (query: Buffer) => Buffer,
): Promise<{ url: string; close: () => void }> {
  const server = createServer((request, response) => {
    const parts: Buffer[] = []
    request.on('data', (part: Buffer) => parts.push(part))
    request.on('end', () => response.end(answer(Buffer.concat(parts))))
  })
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/`,
    close: () => server.close(),
  }
}

/**
 * openssl as the stamping authority (openssl-ts(1)): its certificate is `tsa.pem` in the folder, its last answer `a.tsr`.
 */
export function opensslStamps(folder: string): { answer: (query: Buffer) => Buffer } {
  const at = (name: string) => path.join(folder, name)
  const run = (...args: string[]) => execFileSync('openssl', args, { stdio: 'pipe' })
  const config = at('tsa.cnf')
  writeFileSync(
    config,
    `[tsa]\ndefault_tsa = t\n[t]\nserial = ${at('serial')}\nsigner_digest = sha256\ndefault_policy = 1.2.3.4.1\ndigests = sha256\n` +
      'ess_cert_id_alg = sha256\n[x]\nextendedKeyUsage = critical,timeStamping\n[req]\ndistinguished_name = dn\n[dn]\n',
  )
  writeFileSync(at('serial'), '01\n')
  const subject = [
    '-newkey',
    'rsa:2048',
    '-nodes',
    '-subj',
    '/CN=Stamps',
    '-extensions',
    'x',
    '-config',
    config,
  ]
  run('req', '-x509', ...subject, '-keyout', at('tsa.key'), '-out', at('tsa.pem'))
  return {
    answer: (query) => {
      writeFileSync(at('q.tsq'), query)
      const files = [
        '-queryfile',
        at('q.tsq'),
        '-signer',
        at('tsa.pem'),
        '-inkey',
        at('tsa.key'),
        '-out',
        at('a.tsr'),
      ]
      run('ts', '-reply', '-config', config, ...files)
      return readFileSync(at('a.tsr'))
    },
  }
}
