import { useState } from 'react'
import type { Undecided } from '../../app/contract/calls-laboratory.ts'
import { fieldWords } from '../desk/field-words.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'
import { localDateTime } from '../text/times.ts'

interface Props {
  record: Undecided
  problem: string | undefined
  onDecide: (hash: string, why: string) => void
}

/** A record that two benches changed at the same time: what each says, side by side, and which one holds. */
export function Dispute({ record: { kind, name, fields, sides }, problem, onDecide }: Props) {
  const [why, setWhy] = useState('')
  return (
    <section className="dispute">
      <h3>
        {name} <span className="dispute-kind">{kind}</span>
      </h3>
      <div className="dispute-table">
        <table>
          <thead>
            <tr>
              <td />
              {sides.map(({ hash, bench, who, utcUs, holds }) => (
                <th key={hash} scope="col">
                  {who}, {bench}
                  <small>
                    {localDateTime(utcUs)}
                    {holds && ', holds for now'}
                  </small>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {fields.map((field, i) => {
              const { label, show } = fieldWords(kind, field)
              return (
                <tr key={field}>
                  <th scope="row">{label}</th>
                  {sides.map(({ hash, values }) => (
                    <td key={hash}>{show(values[i] ?? '')}</td>
                  ))}
                </tr>
              )
            })}
            <tr>
              <th scope="row">Reason given</th>
              {sides.map(({ hash, why: given }) => (
                <td key={hash}>{given}</td>
              ))}
            </tr>
          </tbody>
        </table>
      </div>
      <Field label={`Why is it so? (${name})`} value={why} onChange={setWhy} />
      <Problem words={problem} />
      <div className="row">
        {sides.map(({ hash, bench, who }) => (
          <Button key={hash} onPress={() => onDecide(hash, why)} disabled={why.trim() === ''}>
            {`Take what ${who} said at ${bench}`}
          </Button>
        ))}
      </div>
    </section>
  )
}
