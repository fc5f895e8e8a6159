import './unlikely-note.css'

/** A question about a value that is hardly meant so: asked at once, in no one's way. */
export const UnlikelyNote = ({ text }: { text: string }) => (
  <span className="unlikely" role="status">
    {text}
  </span>
)
