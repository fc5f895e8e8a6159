import { type MantineColorScheme, useMantineColorScheme } from '@mantine/core'

const next: Record<MantineColorScheme, MantineColorScheme> = { auto: 'light', light: 'dark', dark: 'auto' }
const words: Record<MantineColorScheme, string> = { auto: 'system', light: 'light', dark: 'dark' }

/** Light, dark, or as the system says. */
export function SchemeSwitch() {
  const { colorScheme, setColorScheme } = useMantineColorScheme()
  return (
    <button
      type="button"
      className="bar-tool"
      onClick={() => setColorScheme(next[colorScheme])}
      title={`Change to ${words[next[colorScheme]]}`}
    >
      Colours: {words[colorScheme]}
    </button>
  )
}
