import type { Transporter } from 'nodemailer'
import type { AlarmRules } from '../../app/contract/settings.ts'

const TIMEOUT_MS = 15_000

/** The way to the laboratory's mail server. Its password is never stored with the rules, and never logged. */
export async function mailTransport(
  { host, port, user, withoutTls }: NonNullable<AlarmRules['email']>,
  password: string | undefined,
): Promise<Transporter> {
  // Most stations never send one: loaded with the first mail.
  const { createTransport } = await import('nodemailer')
  return createTransport({
    host,
    port,
    // 465 speaks TLS from its first byte (RFC 8314, 3.3); elsewhere nothing is said before STARTTLS (RFC 3207).
    secure: port === 465,
    requireTLS: !withoutTls,
    tls: { minVersion: 'TLSv1.2' },
    connectionTimeout: TIMEOUT_MS,
    greetingTimeout: TIMEOUT_MS,
    socketTimeout: TIMEOUT_MS,
    ...(user !== null && { auth: { user, pass: password ?? '' } }),
  })
}
