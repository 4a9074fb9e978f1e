const RAISED = '\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079'
const PARTS = /([\u207b\u2070\u00b9\u00b2\u00b3\u2074-\u2079]+)/

/** Text with raised figures as real superscripts, so that all of them come from the one type family. */
export function Raised({ text }: { text: string }) {
  return (
    <>
      {text.split(PARTS).map((part, i) =>
        i % 2 === 0 ? (
          part
        ) : (
          // biome-ignore lint/suspicious/noArrayIndexKey: the parts of one text do not move
          <sup key={i}>{[...part].map((c) => (c === '\u207b' ? '\u2212' : RAISED.indexOf(c))).join('')}</sup>
        ),
      )}
    </>
  )
}
