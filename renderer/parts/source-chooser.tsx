import { Button, type ButtonProps, TextInput } from '@mantine/core'
import { type ReactNode, useCallback, useRef, useState } from 'react'
import { phrase } from '#core/words/phrase.ts'
import './source-chooser.css'

interface FileButtonProps extends ButtonProps {
  /** How the field behind the button is heard, and what it takes. */
  readonly heard: string
  readonly accept?: string
  readonly folder?: boolean
  readonly multiple?: boolean
  /** The list is emptied once this returns. */
  readonly onFiles: (files: FileList) => void
}

/** A button that asks for files. */
export function FileButton({ heard, accept, folder = false, multiple = false, onFiles, ...button }: FileButtonProps) {
  const input = useRef<HTMLInputElement>(null)
  // React knows the attribute that makes a file field choose folders, its types do not.
  const setInput = useCallback(
    (element: HTMLInputElement | null) => {
      if (element) element.webkitdirectory = folder
      input.current = element
    },
    [folder],
  )
  return (
    <>
      <Button {...button} onClick={() => input.current?.click()} />
      <input
        ref={setInput}
        type="file"
        accept={accept}
        multiple={multiple}
        className="unheard"
        tabIndex={-1}
        aria-label={heard}
        onChange={({ currentTarget }) => {
          if (currentTarget.files && currentTarget.files.length > 0) onFiles(currentTarget.files)
          currentTarget.value = ''
        }}
      />
    </>
  )
}

interface PathFormProps {
  readonly label: string
  readonly placeholder: string
  readonly action: string
  readonly busy?: boolean
  readonly onPath: (path: string) => void
}

/** A place on this computer to type, and what is done with it. */
export function PathForm({ label, placeholder, action, busy = false, onPath }: PathFormProps) {
  const [typed, setTyped] = useState('')
  const path = typed.trim()
  return (
    <form
      className="path-form"
      onSubmit={(event) => {
        event.preventDefault()
        if (path) onPath(path)
      }}
    >
      <TextInput
        label={label}
        placeholder={placeholder}
        value={typed}
        onChange={(event) => setTyped(event.currentTarget.value)}
      />
      <Button type="submit" disabled={!path} loading={busy}>
        {action}
      </Button>
    </form>
  )
}

interface SourceChooserProps extends Omit<FileButtonProps, 'children'> {
  readonly choose: string
  readonly typed: PathFormProps
  readonly onDrop: (dropped: DataTransfer) => void
  /** What there is to say about what was chosen. */
  readonly children?: ReactNode
}

/** Three ways to name what is imported: choose it, drop it, or type where it is. */
export function SourceChooser({ choose, typed, onDrop, children, ...button }: SourceChooserProps) {
  const [over, setOver] = useState(false)
  return (
    <div className="chooser">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a shortcut for the button inside */}
      <div
        className="chooser-drop"
        data-over={over || undefined}
        onDragOver={(event) => {
          event.preventDefault()
          setOver(true)
        }}
        onDragLeave={() => setOver(false)}
        onDrop={(event) => {
          event.preventDefault()
          setOver(false)
          onDrop(event.dataTransfer)
        }}
      >
        <FileButton variant="filled" size="sm" {...button}>
          {choose}
        </FileButton>
        <span className="quiet">{phrase('or drop one here')}</span>
      </div>
      <PathForm {...typed} />
      {children}
    </div>
  )
}
