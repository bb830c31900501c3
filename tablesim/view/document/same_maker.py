"""The same in all scenes, as the window holds it: what differs from what is on the screen, what of it is ticked."""

from __future__ import annotations

from tablesim.errors import TablesimError

from .lesson_book import LessonBook
from .lesson_edits import differences, of_files, scenes_words, with_same


class SameMaker:
    """What is on the screen is what the scenes are to be like; nothing is ticked to begin with."""

    def __init__(self, book: LessonBook) -> None:
        self.book, self.model = book, book.editor.scenario
        if not book.lesson.scenes:
            raise TablesimError("The lesson has no scenes yet: arrange a view, then keep it.")
        self.found = {words: thing for thing, words in differences(book.lesson, self.model).items()}
        self.ticked: list[str] = []

    @property
    def words(self) -> str:
        """What is done with what is ticked, and which scenes stay as they are; or in words why it cannot be done."""
        try:
            self._made()
        except TablesimError as error:
            text = str(error)
            return f"{text[:1].upper()}{text[1:]}."
        return f"What is ticked becomes in all scenes as it is on the screen. {self.files_words}".strip()

    @property
    def files_words(self) -> str:
        """Which scenes stay as they are; empty if none has to."""
        files = of_files(self.book.lesson)
        if not files:
            return ""
        how = "stays as its file has it" if len(files) == 1 else "stay as their files have them"
        return f"{scenes_words(files).capitalize()} {how}."

    @property
    def able(self) -> bool:
        """True if something is ticked that all scenes take."""
        try:
            return bool(self.ticked) and bool(self._made())
        except TablesimError:
            return False

    def _made(self) -> object:
        return with_same(self.book.lesson, self.model, [self.found[words] for words in self.ticked])

    def make(self) -> None:
        """Change the lesson: one step of undo."""
        things = [self.found[words] for words in self.ticked]
        self.book.make_same(self.model, things)
        self.book.editor.tell(f"The same in all scenes now. {self.files_words}".strip())
