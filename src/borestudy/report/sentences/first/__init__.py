"""The answer to a study's question: at most three sentences, with one number in each."""

from borestudy.report.sentences.first.studies import ENTRY_QUESTION, first_sentences
from borestudy.report.sentences.first.told import FirstSentence
from borestudy.report.sentences.first.wished import wished_sentences

__all__ = ["ENTRY_QUESTION", "FirstSentence", "first_sentences", "wished_sentences"]
