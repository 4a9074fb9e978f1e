/** Under whose name an act goes into the record. */
export function SignedAs({ who }: { who: string | undefined }) {
  return (
    <p className="faint">
      {who === undefined
        ? 'You are asked who you are; it is kept in the record.'
        : `In the record under the name of ${who}.`}
    </p>
  )
}
