import type { Parcel } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'

interface Props {
  parcel: Parcel & { email: string }
  /** Whether the station has a mail server. */
  canMail: boolean
  working: boolean
  said: string | undefined
  problem: string | undefined
  delivered: boolean
  onFolder: () => void
  onMail: () => void
  onHandedOver: () => void
}

/** Why nothing can go by mail, and where that is entered; undefined: it can. */
const noMail = ({ email, customer }: Props['parcel'], canMail: boolean): string | undefined => {
  if (!canMail) return 'By mail: enter a mail server in Register, Station, under the alarms.'
  if (email === '') return `By mail: enter an e-mail address of ${customer} in the order.`
  return undefined
}

/** What one customer gets, and the ways it goes out. */
export function Delivery(props: Props) {
  const { parcel, canMail, working, said, problem, delivered } = props
  const lacks = noMail(parcel, canMail)
  return (
    <section className="stack" aria-label="Delivery">
      <h3>Delivery</h3>
      <p>{`${[parcel.customer ?? 'The laboratory itself', ...parcel.address].join(', ')} gets:`}</p>
      <ul>
        {parcel.items.map(({ thermometer, name, serial, number, version, replaces, digital }) => (
          <li key={thermometer}>
            {`${name}, serial number ${serial || 'not known'}: certificate ${number}, version ${version}, as PDF${digital ? ', XML' : ''} and table`}
            {replaces && `; recalls version ${replaces.version} of ${replaces.date}`}
          </li>
        ))}
      </ul>
      <p className="faint">Checksums and a covering list come with it. The ledger keeps what went to whom.</p>
      {lacks && <p className="faint">{lacks}</p>}
      <Problem words={problem} />
      {said && <p role="status">{said}</p>}
      <div className="row">
        <Button look="main" right="operate" onPress={props.onFolder} disabled={working}>
          {working ? 'Writing the files' : 'Write the folder'}
        </Button>
        {!lacks && (
          <Button right="operate" onPress={props.onMail} disabled={working}>
            {`Send it to ${parcel.email}`}
          </Button>
        )}
        {!delivered && (
          <Button right="operate" look="quiet" onPress={props.onHandedOver} disabled={working}>
            Handed over another way
          </Button>
        )}
      </div>
    </section>
  )
}
