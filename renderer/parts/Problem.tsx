/** A refusal or a fault, where it happened. */
export function Problem({ words }: { words: string | undefined }) {
  if (!words) return null
  return (
    <p className="problem" role="alert">
      {words}
    </p>
  )
}
