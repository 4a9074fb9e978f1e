import type { CertificateRow } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'

interface Props {
  rows: readonly CertificateRow[]
  working: boolean
  onSave: (row: CertificateRow, kind: 'pdf' | 'xml') => void
}

/** The certificate of each item, for its customer alone. */
export function Certificates({ rows, working, onSave }: Props) {
  if (rows.length === 0) return null
  return (
    <section className="stack" aria-label="Certificates">
      <h3>Certificates</h3>
      {rows.map((row) => {
        const { thermometer, name, serial, number, version, signed, digital } = row
        const standing = number === null ? 'draft, without a number' : `${number}, version ${version}`
        return (
          <div key={thermometer} className="row row-apart">
            <p>
              {`${name}, serial number ${serial || 'not known'}: ${standing}`}
              {number !== null && !signed && ', draft'}
            </p>
            <div className="row">
              <Button onPress={() => onSave(row, 'pdf')} disabled={working}>
                {`PDF of ${serial || name}`}
              </Button>
              <Button onPress={() => onSave(row, 'xml')} disabled={working || !digital}>
                {`XML of ${serial || name}`}
              </Button>
            </div>
          </div>
        )
      })}
    </section>
  )
}
