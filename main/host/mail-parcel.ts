import { entryOf, last } from '../../app/base/lists.ts'
import type { Parcel } from '../../app/contract/studies.ts'
import { said } from '../../app/messages/said.ts'
import { mailTransport } from '../station/mail.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'

/** A parcel with its files. */
export interface MailParcel {
  readonly parcel: Parcel
  readonly files: readonly (readonly [string, Uint8Array | string])[]
  readonly covering: string
}

const TYPES: Readonly<Record<string, string>> = {
  pdf: 'application/pdf',
  xml: 'application/xml',
  csv: 'text/csv',
  tsr: 'application/timestamp-reply',
}

const typeOf = (name: string) => TYPES[last(name.split('.'))] ?? 'text/plain'

/** Sends parcels by the mail server that the alarms go through. */
export class ParcelPost {
  readonly #store: StationStore
  readonly #addresses: ReadonlyMap<string, string>

  /** Throws StationError 'refused' where mail is not set up, or a customer has no address for it; nothing is sent then. */
  constructor(store: StationStore, parcels: readonly Parcel[]) {
    this.#store = store
    if (!store.alarmRules().email) throw new StationError('refused', said('no-mail-server', {}))
    const known = new Map(store.records.all('customer').map(({ name, email }) => [name, email]))
    const addresses = new Map<string, string>()
    for (const { customer } of parcels) {
      const address = customer === null ? '' : (known.get(customer) ?? '')
      if (address === '')
        throw new StationError(
          'refused',
          said('customer-without-mail', { customer: customer ?? 'The laboratory itself' }),
          { customer },
        )
      addresses.set(customer!, address)
    }
    this.#addresses = addresses
  }

  /** Sends one parcel. What keeps it from going is told in words. */
  async send({ parcel, files, covering }: MailParcel): Promise<{ to: string; problem?: string }> {
    const email = this.#store.alarmRules().email!
    const to = entryOf(this.#addresses, parcel.customer!)
    const transport = await mailTransport(email, process.env.STILLPOINT_SMTP_PASSWORD)
    const numbers = parcel.items.map(({ number }) => number).join(', ')
    const laboratory = this.#store.settings()?.laboratory.name ?? ''
    try {
      await transport.sendMail({
        from: email.from,
        to,
        subject: `${laboratory === '' ? '' : `${laboratory}: `}calibration certificates ${numbers}`,
        text: covering,
        attachments: files.map(([filename, content]) => ({
          filename,
          content: typeof content === 'string' ? content : Buffer.from(content),
          contentType: typeOf(filename),
        })),
      })
      return { to }
    } catch (fault) {
      const words = fault instanceof Error ? fault.message : String(fault)
      return {
        to,
        problem: `The mail server ${email.host} did not take it: ${words}. Try again, or send the folder yourself.`,
      }
    } finally {
      transport.close()
    }
  }
}
