"""Access steps and labour, grouping, the downtime plan, the yard round."""
